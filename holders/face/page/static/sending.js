// A scan on its way: dropped or chosen, sent to this machine's own server, worked on with progress; or cancelled.
import { Trouble, get, post, remove, upload, wait } from "./api.js";
const $ = (id) => document.getElementById(id);

// `name` begins the ids of the controls; `order` gives the question to `path`, `show` takes the answer, `tell` a refusal
export function sending(name, { path, crop, order, show, tell }) {
  const at = (what) => $(`${name}-${what}`);
  let job = null, sent = null, busy = false, stopped = false, last = null;
  const say = (text) => { if (at("say").textContent !== text) at("say").textContent = text; };
  const on = (now) => {
    busy = now;
    at("cancel").hidden = at("progress").hidden = !now;
    at("scan").disabled = now;
  };

  async function run(file) {
    if (busy) { say("One scan is under way already."); return; }
    on(true);
    last = file;
    job = null;
    stopped = false;
    at("progress").value = 0;
    at("result").hidden = true;
    try {
      job = await post(path, await order());
      if (stopped) { await remove(`/api/jobs/${job.key}`); throw new Trouble("cancelled"); }
      if (file.size > job.most_bytes) throw new Trouble(`The scan is larger than ${job.most_bytes / 2 ** 30} GiB: ${crop}.`);
      say("Taking the scan in …");
      sent = upload(`/api/scan/${job.key}`, file, (share) => { at("progress").value = share / 2; });
      job = await sent.done;
      sent = null;
      while (job.state === "running") {
        await wait(200);
        job = await get(`/api/jobs/${job.key}`);
        at("progress").value = 0.5 + job.share / 2;
        if (job.state === "running") say(`${job.words}, ${Math.round(100 * job.share)} % …`);
      }
      if (job.state === "cancelled") { say("Cancelled."); return; }
      if (job.state !== "done") throw new Trouble(job.words || "it did not work", job.result ? job.result.errors : []);
      await show(job.result);
      at("result").hidden = false;
    } catch (error) {
      if (error.message === "cancelled") say("Cancelled."); else tell(error);
    } finally {
      on(false);
      sent = null;
      at("scan").value = "";
      if (stopped) at("scan").focus();  // the Cancel that had it is gone
    }
  }

  at("scan").addEventListener("change", () => { if (at("scan").files[0]) run(at("scan").files[0]); });
  at("cancel").addEventListener("click", async () => {
    stopped = true;
    if (sent) sent.abort();
    if (job) await remove(`/api/jobs/${job.key}`).catch(() => {});
  });
  const drop = at("drop");
  for (const kind of ["dragover", "dragenter"]) drop.addEventListener(kind, (e) => { e.preventDefault(); drop.classList.add("over"); });
  drop.addEventListener("dragleave", () => drop.classList.remove("over"));
  drop.addEventListener("drop", (e) => {
    e.preventDefault();
    drop.classList.remove("over");
    if (e.dataTransfer.files[0]) run(e.dataTransfer.files[0]);
  });
  return { say, again: () => { if (last) run(last); } };
}

// a PNG in base64 put on a canvas: the page's policy lets no picture in from a text address
export async function shown(canvas, png, words) {
  const bytes = Uint8Array.from(atob(png), (letter) => letter.charCodeAt(0));
  const image = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
  Object.assign(canvas, { width: image.width, height: image.height });
  canvas.getContext("2d").drawImage(image, 0, 0);
  canvas.setAttribute("aria-label", words);
}

// a file dropped beside its place must not replace the page
export function noneBeside() {
  for (const kind of ["dragover", "drop"]) window.addEventListener(kind, (e) => e.preventDefault());
}
