// A finished scan: looked at with the form's holder or by itself; its picture, what was found, and what to change.
import { draw } from "./drawing.js";
import { make, numberOf } from "./form.js";
import { sending } from "./sending.js";
const $ = (id) => document.getElementById(id);

export function looking(form) {
  let alone = false;

  async function order() {
    $("l-dpi-error").textContent = "";
    $("l-dpi").removeAttribute("aria-invalid");
    const text = $("l-dpi").value.trim();
    alone = !$("l-with").checked || form.missing().length > 0;
    return { values: alone ? null : form.complete(), dpi: text === "" ? null : numberOf(text) };
  }

  async function show(result) {
    draw($("l-picture"), result.picture, `${result.headline}. ${result.rows.map(([name, value]) => `${name}: ${value}`).join("; ")}`);
    $("l-rows").replaceChildren(...result.rows.flatMap(([name, value]) => [make("dt", {}, name), make("dd", {}, form.plain(value))]));
    $("l-advice").replaceChildren(...result.advice.map((text) => make("li", { class: "note warn" }, make("b", {}, "What to change: "), form.plain(text))));
    $("l-remarks").replaceChildren(...result.remarks.map((text) => make("li", { class: "note" }, text[0].toUpperCase() + text.slice(1))));
    const missing = $("l-with").checked && alone ? " The form is not filled in yet, so it was looked at without a holder." : "";
    say(`Looked at: ${result.headline}.${missing}`);
  }

  function tell(error) {
    const dpi = (error.errors || []).find((one) => one.field.endsWith("dpi"));
    if (dpi) {
      say("Not looked at: see the message.");
      $("l-dpi-error").textContent = `${dpi.value}: ${dpi.way_out}`;
      $("l-dpi").setAttribute("aria-invalid", "true");
      $("l-dpi").focus();
      return;
    }
    say(`Not looked at: ${error.errors && error.errors.length ? error.errors.map((one) => form.plain(`${one.field}: ${one.way_out}`)).join("; ") : error.message}`);
  }

  const { say } = sending("l", { path: "/api/inspect", crop: "crop it to one film", order, show, tell });
}
