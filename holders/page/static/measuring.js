// A scan of a slope: dropped or chosen, sent to this machine's own server, measured with progress, put into the form.
import { Trouble, get, post, remove, upload, wait } from "./api.js";
import { make, numberOf } from "./form.js";
import { picture } from "./results.js";
const $ = (id) => document.getElementById(id);
const FIELDS = { rise: "m-rise", run: "m-run", start_height: "m-start", dpi: "m-dpi" };

export function measuring(use) {
  let job = null, sending = null, found = null, busy = false;
  const say = (text) => { if ($("m-say").textContent !== text) $("m-say").textContent = text; };
  const on = (now) => {
    busy = now;
    $("m-cancel").hidden = $("m-progress").hidden = !now;
    $("m-scan").disabled = now;
  };

  async function run(file) {
    if (busy) { say("One scan is being measured already."); return; }
    on(true);
    $("m-result").hidden = true;
    clear();
    try {
      job = await post("/api/measure", await slope());
      if (file.size > job.most_bytes) throw new Trouble(`The scan is larger than ${job.most_bytes / 2 ** 30} GiB: crop it to the slope.`);
      say("Taking the scan in …");
      sending = upload(`/api/measure/${job.key}`, file, (share) => { $("m-progress").value = share / 2; });
      job = await sending.done;
      sending = null;
      while (job.state === "running") {
        await wait(200);
        job = await get(`/api/jobs/${job.key}`);
        $("m-progress").value = 0.5 + job.share / 2;
        if (job.state === "running") say(`${job.words}, ${Math.round(100 * job.share)} % …`);
      }
      if (job.state === "cancelled") { say("Cancelled."); return; }
      if (job.state !== "done") throw new Trouble(job.words || "not measured", job.result ? job.result.errors : []);
      await show(job.result);
    } catch (error) { tell(error); } finally { on(false); sending = null; $("m-scan").value = ""; }
  }

  async function slope() {
    const ramp = $("m-ramp").files[0];
    if (ramp) {
      if (ramp.size > 65536) throw new Trouble("", [{ field: "measure.ramp", value: ramp.name, way_out: "too large to be a ramp's file" }]);
      return { ramp_text: await ramp.text(), dpi: value("m-dpi") };
    }
    const given = Object.fromEntries(Object.entries(FIELDS).map(([name, id]) => [name, value(id)]));
    return { ...given, reverse: $("m-reverse").checked };
  }
  const value = (id) => { const text = $(id).value.trim(); return text === "" ? null : numberOf(text); };

  async function show(result) {
    found = result.bed;
    const f = result.focus;
    const line = `Sharpest ${f.height.toFixed(2)} ± ${Math.max(0.01, f.height_sigma).toFixed(2)} mm above the glass, sharp from ${f.band[0].toFixed(2)} to ${f.band[1].toFixed(2)} mm.`;
    await picture($("m-picture"), result.picture, line);
    const remarks = [...f.warnings, ...f.advice];
    if (f.at_edge) remarks.unshift("The best height lies at or beyond the end of the slope: scan a slope that reaches further.");
    $("m-remarks").replaceChildren(...remarks.map((text) => make("li", { class: "note warn" }, text)));
    $("m-use").disabled = f.at_edge;
    $("m-result").hidden = false;
    say(line);
  }

  function tell(error) {
    say(error.errors && error.errors.length ? "Not measured: see the message." : error.message === "cancelled" ? "Cancelled." : `Not measured: ${error.message}`);
    for (const one of error.errors || []) {
      const name = one.field.replace("measure.", ""), id = FIELDS[name] || (name === "ramp" && "m-ramp");
      if (!id) { say(`Not measured: ${one.way_out}`); continue; }
      $(id + "-error").textContent = `${one.value}: ${one.way_out}`;
      $(id).setAttribute("aria-invalid", "true");
      $(id).focus();
    }
  }

  function clear() {
    for (const id of [...Object.values(FIELDS), "m-ramp"]) { $(id + "-error").textContent = ""; $(id).removeAttribute("aria-invalid"); }
  }

  $("m-scan").addEventListener("change", () => { if ($("m-scan").files[0]) run($("m-scan").files[0]); });
  $("m-cancel").addEventListener("click", async () => {
    if (sending) sending.abort();
    if (job) await remove(`/api/jobs/${job.key}`).catch(() => {});
    $("m-scan").focus();
  });
  $("m-use").addEventListener("click", () => use(found));
  const drop = $("drop");
  for (const name of ["dragover", "dragenter"]) drop.addEventListener(name, (e) => { e.preventDefault(); drop.classList.add("over"); });
  drop.addEventListener("dragleave", () => drop.classList.remove("over"));
  drop.addEventListener("drop", (e) => {
    e.preventDefault();
    drop.classList.remove("over");
    if (e.dataTransfer.files[0]) run(e.dataTransfer.files[0]);
  });
  // a file dropped beside the place must not replace the page
  for (const name of ["dragover", "drop"]) window.addEventListener(name, (e) => e.preventDefault());
}
