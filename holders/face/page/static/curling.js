// A scan of film stood on its edge: measured, shown back with its arc, and put into the form.
import { numberOf } from "./form.js";
import { sending, shown } from "./sending.js";
const $ = (id) => document.getElementById(id);

export function curling(use, base) {
  let found = null;

  async function order() {
    $("c-dpi-error").textContent = "";
    $("c-dpi").removeAttribute("aria-invalid");
    const text = $("c-dpi").value.trim();
    return { hollow: $("c-hollow").value || null, dpi: text === "" ? null : numberOf(text), base: base() || null };
  }

  async function show(result) {
    found = result.base;
    const side = result.hollow ? ` toward the ${result.hollow}` : ", the side not known";
    const line = `Curl ${Math.abs(result.curl_per_m).toFixed(2)} ± ${Math.max(0.01, result.sigma).toFixed(2)} per metre${side}: rises ${result.rise_mm.toFixed(1)} mm over ${result.chord_mm.toFixed(0)} mm.`;
    await shown($("c-picture"), result.picture, `The scan shown back, the fitted arc in amber. ${line}`);
    $("c-use").disabled = !result.hollow;
    say(result.hollow ? line : `${line} Say which side is hollow, and drop it again, to use it.`);
  }

  function tell(error) {
    const dpi = (error.errors || []).find((one) => one.field.endsWith("dpi"));
    say(`Not measured: ${error.errors && error.errors.length ? error.errors.map((one) => one.way_out).join("; ") : error.message}`);
    if (!dpi) return;
    $("c-dpi-error").textContent = `${dpi.value}: ${dpi.way_out}`;
    $("c-dpi").setAttribute("aria-invalid", "true");
    $("c-dpi").focus();
  }

  const { say } = sending("c", { path: "/api/curl", crop: "crop it to the line of the film's foot", order, show, tell });
  $("c-use").addEventListener("click", () => use(found));
}
