// The files: made by a process of their own, watched, cancelled, handed over as one zip.
import { Trouble, handZip, post, remove, watched } from "./api.js";
import { make } from "./form.js";
const $ = (id) => document.getElementById(id);

export function making(form, open) {
  let job = null, stopped = false;
  const busy = (on) => {
    $("make").disabled = on;
    for (const id of ["make-cancel", "make-progress"]) $(id).hidden = !on;
  };
  const say = (text, short = text) => {  // `short`: for the bar at the foot, two lines on a phone
    if ($("make-say").textContent !== text) $("make-say").textContent = text;
    $("short").textContent = short;
  };

  $("make").addEventListener("click", async () => {
    open("make");
    if ($("make").dataset.never) { say(`Not to be made: ${form.plain($("make").dataset.never)}.`, "Not to be made"); return; }
    const missing = form.missing();
    if (missing.length) { say(`Still to choose: ${missing.join(", ")}.`, `${missing.length} still to choose`); return; }
    busy(true);
    job = null;
    stopped = false;
    $("make-files").replaceChildren();
    say("Starting.");
    try {
      const reason = $("reason-box").hidden ? null : $("reason").value.trim() || null;
      if (!$("reason-box").hidden && !reason) { $("reason").focus(); throw new Trouble("A check says stop: change the holder, or give the reason to make it all the same."); }
      job = await post("/api/make", { values: form.complete(), anyway: reason });
      if (stopped) job = await remove(`/api/jobs/${job.key}`);  // asked for before there was a job to end
      job = await watched(job, (now) => {
        $("make-progress").value = now.share;
        if (now.state === "running") say(`${now.words} …`);
      });
      if (job.state === "cancelled") { say("Cancelled; nothing was kept."); return; }
      await handZip(job);
      say(`Done: ${job.result.files.length} files in ${job.result.slug}.zip, ${(job.result.bytes / 1e6).toFixed(1)} MB. Your browser has it among its downloads.`, `Done: ${job.result.files.length} files`);
      $("make-files").replaceChildren(...job.result.files.map((f) => make("li", {}, `${f.name}, ${Math.ceil(f.bytes / 1024)} KiB`)));
    } catch (error) {
      say(error.message, "Not made");
    } finally {
      busy(false);
      if (stopped) $("make").focus();  // its Cancel, which had the focus, is gone
    }
  });

  $("make-cancel").addEventListener("click", async () => {
    stopped = true;
    if (job) await remove(`/api/jobs/${job.key}`).catch(() => {});
  });
}
