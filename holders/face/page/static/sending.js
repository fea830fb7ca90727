// A scan on its way: dropped or chosen, sent to this machine's own server, worked on with progress; or cancelled.
import { Trouble, post, remove, upload, watched } from "./api.js";
const $ = (id) => document.getElementById(id);

// `name` begins the ids of the controls; `order` gives the question to `path`, `show` takes the answer, `tell` a refusal
export function sending(name, { path, crop, order, show, tell, places = [["scan", "drop"]], count = () => places.length }) {
  const at = (what) => $(`${name}-${what}`);
  let job = null, sent = null, busy = false, stopped = false, last = null;
  const say = (text) => { if (at("say").textContent !== text) at("say").textContent = text; };
  const on = (now) => {
    busy = now;
    at("cancel").hidden = at("progress").hidden = !now;
    for (const [input] of places) at(input).disabled = now;
  };

  async function run(...files) {
    if (busy) { say("One scan is under way already."); return; }
    on(true);
    last = files;
    job = null;
    stopped = false;
    at("progress").value = 0;
    at("result").hidden = true;
    try {
      job = await post(path, await order());
      if (stopped) { await remove(`/api/jobs/${job.key}`); throw new Trouble("cancelled"); }
      const most = job.most_bytes, key = job.key;
      for (const [k, file] of files.entries()) {
        if (file.size > most) throw new Trouble(`The scan is larger than ${most / 2 ** 30} GiB: ${crop}.`);
        say(files.length > 1 ? `Taking scan ${k + 1} in …` : "Taking the scan in …");
        sent = upload(`/api/scan/${key}`, file, (share) => { at("progress").value = (k + share) / files.length / 2; });
        job = await sent.done;
        sent = null;
      }
      job = await watched(job, (now) => {
        at("progress").value = 0.5 + now.share / 2;
        if (now.state === "running") say(`${now.words}, ${Math.round(100 * now.share)} % …`);
      });
      if (job.state === "cancelled") { say("Cancelled."); return; }
      await show(job.result);
      at("result").hidden = false;
    } catch (error) {
      if (error.message === "cancelled") say("Cancelled."); else tell(error);
    } finally {
      on(false);
      sent = null;
      for (const [input] of places) at(input).value = "";
      if (stopped) at("scan").focus();  // the Cancel that had it is gone
    }
  }

  at("cancel").addEventListener("click", async () => {
    stopped = true;
    if (sent) sent.abort();
    if (job) await remove(`/api/jobs/${job.key}`).catch(() => {});
  });
  // each of `places` takes one file: the work begins when the first `count` of them have come
  const held = places.map(() => null);
  const take = (k, file) => {
    if (!file) return;
    held[k] = file;
    if (places.length > 1) at(places[k][0]).nextElementSibling.textContent = `${file.name} (drop another instead)`;
    const files = held.slice(0, count());
    if (files.every(Boolean)) run(...files); else say("Now the other scan.");
  };
  for (const [k, [input, zone]] of places.entries()) {
    at(input).addEventListener("change", () => take(k, at(input).files[0]));
    const drop = at(zone);
    for (const kind of ["dragover", "dragenter"]) drop.addEventListener(kind, (e) => { e.preventDefault(); drop.classList.add("over"); });
    drop.addEventListener("dragleave", () => drop.classList.remove("over"));
    drop.addEventListener("drop", (e) => {
      e.preventDefault();
      drop.classList.remove("over");
      take(k, e.dataTransfer.files[0]);
    });
  }
  return { say, again: () => { if (last) run(...last); } };
}

// a PNG in base64 put on a canvas: the page's policy lets no picture in from a text address; `least`: a thin strip is
// stretched until its short side is that share of the long one
export async function shown(canvas, png, words, least = 0) {
  const bytes = Uint8Array.from(atob(png), (letter) => letter.charCodeAt(0));
  const image = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
  const short = least * Math.max(image.width, image.height);
  Object.assign(canvas, { width: Math.max(image.width, short), height: Math.max(image.height, short) });
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  canvas.setAttribute("aria-label", words);
}

// a file dropped beside its place must not replace the page
export function noneBeside() {
  for (const kind of ["dragover", "drop"]) window.addEventListener(kind, (e) => e.preventDefault());
}
