// A scan of film stood on its edge, or a ruler on it: measured, the scan shown back with its arc, and put into the form.
import { post } from "./api.js";
import { numberOf } from "./form.js";
import { sending, shown } from "./sending.js";
const $ = (id) => document.getElementById(id);
const FIELDS = ["dpi", "chord", "rise"];

export function curling(use, base) {
  let found = null;
  const given = (name) => { const text = $(`c-${name}`).value.trim(); return text === "" ? null : numberOf(text); };

  function clear() {
    for (const name of FIELDS) { $(`c-${name}-error`).textContent = ""; $(`c-${name}`).removeAttribute("aria-invalid"); }
  }

  async function order() {
    clear();
    return { hollow: $("c-hollow").value || null, dpi: given("dpi"), base: base() || null };
  }

  async function show(result) {
    found = result.base;
    const side = result.hollow ? ` toward the ${result.hollow}` : ", the side not known";
    const line = `Curl ${Math.abs(result.curl_per_m).toFixed(2)} ± ${Math.max(0.01, result.sigma).toFixed(2)} per m${side}: ${result.rise_mm.toFixed(1)} mm high in the middle of ${result.chord_mm.toFixed(0)} mm.`;
    $("c-picture").hidden = !result.picture;
    if (result.picture) await shown($("c-picture"), result.picture, `The scan shown back, the fitted arc in amber. ${line}`);
    $("c-use").disabled = !result.hollow;
    say(result.hollow ? line : `${line} Say which side is hollow, and ${result.picture ? "drop it" : "take the two"} again, to use it.`);
  }

  function tell(error) {
    const errors = error.errors || [];
    say(`Not measured: ${errors.length ? errors.map((one) => one.way_out).join("; ") : error.message}`);
    const name = FIELDS.find((field) => errors.some((one) => one.field.endsWith(field))), one = name && errors.find((each) => each.field.endsWith(name));
    if (!one) return;
    $(`c-${name}-error`).textContent = `${one.value}: ${one.way_out}`;
    $(`c-${name}`).setAttribute("aria-invalid", "true");
    $(`c-${name}`).focus();
  }

  const { say } = sending("c", { path: "/api/curl", crop: "crop it to the line of the film's foot", order, show, tell });
  $("c-ruler").addEventListener("click", async () => {
    clear();
    $("c-result").hidden = true;
    try {
      await show(await post("/api/ruler", { chord: given("chord"), rise: given("rise"), hollow: $("c-hollow").value || null, base: base() || null }));
      $("c-result").hidden = false;
    } catch (error) { tell(error); }
  });
  $("c-use").addEventListener("click", () => use(found));
}
