// A scan of a slope: its numbers asked for first, then measured, shown, and put into the form.
import { Trouble, handZip, post, watched } from "./api.js";
import { draw } from "./drawing.js";
import { make, numberOf } from "./form.js";
import { sending, shown } from "./sending.js";
const $ = (id) => document.getElementById(id);
const FIELDS = { rise: "m-rise", run: "m-run", start_height: "m-start", dpi: "m-dpi" };
const RAMP = { lid_room: "r-room", high: "r-high", frame: "r-frame", sheet: "r-sheet" };
const SHAPE = { target_thickness: "m-thick", span: "m-span" };

export function measuring(use) {
  let found = null, made = null;  // `made`: the geometry of the ramp that was made here
  const value = (id) => { const text = $(id).value.trim(); return text === "" ? null : numberOf(text); };

  async function order() {
    clear();
    const shape = { target: $("m-target").value || null, ...Object.fromEntries(Object.entries(SHAPE).map(([name, id]) => [name, value(id)])) };
    const ramp = $("m-ramp").files[0];
    if (ramp) {
      if (ramp.size > 65536) throw new Trouble("", [{ field: "measure.ramp", value: ramp.name, way_out: "too large to be a ramp's file" }]);
      return { ...shape, ramp_text: await ramp.text(), dpi: value("m-dpi") };
    }
    const given = Object.fromEntries(Object.entries(FIELDS).map(([name, id]) => [name, value(id)]));
    if (made && given.rise === null && given.run === null) return { ...shape, ramp_text: made, dpi: value("m-dpi") };
    return { ...shape, ...given, reverse: $("m-reverse").checked };
  }

  async function show(result) {
    found = result.bed;
    const f = result.focus;
    const line = `Sharpest ${f.height.toFixed(2)} ± ${Math.max(0.01, f.height_sigma).toFixed(2)} mm above the glass, sharp from ${f.band[0].toFixed(2)} to ${f.band[1].toFixed(2)} mm.`;
    draw($("m-picture"), result.picture, line);
    $("m-seen").hidden = !result.ends;
    if (result.ends) {
      const { lies, reverse } = result.ends, box = $("m-ends"), first = lies ? "left" : "top", last = lies ? "right" : "bottom";
      box.classList.toggle("upright", !lies);
      box.firstElementChild.textContent = reverse ? "HIGH" : "LOW";
      box.lastElementChild.textContent = reverse ? "LOW" : "HIGH";
      await shown($("m-scan-picture"), result.scan, `The scan as it was measured, and over it how sharp it is: its low end at the ${reverse ? last : first}, its high end at the ${reverse ? first : last}`, 0.25);
      curve($("m-scan-picture"), result.over, lies);
    }
    const remarks = [...f.warnings, ...f.advice];
    if (f.assumed.length) remarks.unshift(`Taken for: ${f.assumed.join("; ")}.`);
    if (f.at_edge) remarks.unshift("The best height lies at or beyond the end of the slope: scan a slope that reaches further.");
    $("m-remarks").replaceChildren(...result.known.map((text) => make("li", { class: "note" }, text)),
      ...remarks.map((text) => make("li", { class: "note warn" }, text[0].toUpperCase() + text.slice(1))));
    if (f.doubts.length) remarks.unshift(`Not to be built on yet: ${f.doubts.join("; ")}.`);
    $("m-use").disabled = f.doubts.length > 0;
    say(line);
  }

  function tell(error) {
    say(error.errors && error.errors.length ? "Not measured: see the message." : `Not measured: ${error.message}`);
    for (const one of error.errors || []) {
      const name = one.field.replace(/^(measure\.|--)/, ""), id = FIELDS[name] || SHAPE[name] || { ramp: "m-ramp", target: "m-target" }[name];
      if (!id) { say(`Not measured: ${one.way_out}`); continue; }
      $(id + "-error").textContent = `${one.value}: ${one.way_out}`;
      $(id).setAttribute("aria-invalid", "true");
      $(id).focus();
    }
  }

  function clear() {
    for (const id of [...Object.values(FIELDS), ...Object.values(SHAPE), "m-target", "m-ramp"]) { $(id + "-error").textContent = ""; $(id).removeAttribute("aria-invalid"); }
  }

  $("r-make").addEventListener("click", async () => {
    const tellRamp = (text) => { $("r-say").textContent = text; };
    $("r-make").disabled = true;
    for (const id of Object.values(RAMP)) { $(id + "-error").textContent = ""; $(id).removeAttribute("aria-invalid"); }
    try {
      const wish = Object.fromEntries(Object.entries(RAMP).map(([name, id]) => [name, value(id)]));
      const job = await watched(await post("/api/ramp", wish), (now) => {
        if (now.state === "running") tellRamp(`${now.words} …`);
      });
      await handZip(job);
      made = job.result.ramp;
      tellRamp("Done: focus-ramp.zip is among your downloads. Its steps.txt says how it is put together, printed or cut. Printed: ramp and frame flat, without supports; lay a clear ruler or a strip of developed film 33 to 35 mm wide on the two stairs, emulsion down, the frame on top, a rubber band from horn to horn over either end of it, and scan all of it at 2400 dpi or more as film. Then drop that scan below and leave rise and length open: this page knows the ramp. Cut from sheet: choose its ramp-from-sheet.json below.");
    } catch (error) {
      const marked = (error.errors || []).map((one) => [RAMP[one.field.replace(/^ramp\./, "")], one]).filter(([id]) => id);
      tellRamp(marked.length ? "Not made: see the message." : error.message);
      for (const [id, one] of marked) {
        $(id + "-error").textContent = `${one.value} mm: ${one.way_out}`;
        $(id).setAttribute("aria-invalid", "true");
        $(id).focus();
      }
    } finally { $("r-make").disabled = false; }
  });

  const { say, again } = sending("m", { path: "/api/measure", crop: "crop it to the slope", order, show, tell });
  $("m-swap").addEventListener("click", () => { $("m-reverse").checked = !$("m-reverse").checked; again(); });
  $("m-use").addEventListener("click", () => use(found));
}

// how sharp each place is, over the scan; a line at the sharpest
function curve(canvas, over, lies) {
  if (over.length < 2) return;
  const pen = canvas.getContext("2d"), { width, height } = canvas, most = Math.max(...over.map(([, s]) => s));
  const at = ([p, s]) => (lies ? [p * width, height * (1 - 0.9 * s / most)] : [width * 0.9 * s / most, p * height]);
  const best = over.find(([, s]) => s === most), way = new Path2D();
  over.forEach((one, k) => way[k ? "lineTo" : "moveTo"](...at(one)));
  const [x, y] = at(best);
  if (lies) { way.moveTo(x, 0); way.lineTo(x, height); } else { way.moveTo(0, y); way.lineTo(width, y); }
  const thick = Math.max(2, Math.max(width, height) / 300);
  for (const [colour, wide] of [["#fff", 3 * thick], ["#0b5c50", thick]]) { pen.strokeStyle = colour; pen.lineWidth = wide; pen.lineJoin = "round"; pen.stroke(way); }
}
