// Two scans of one film, the holder moved across in between: how the film lies, beside how it was computed to lie.
import { draw } from "./drawing.js";
import { make, numberOf } from "./form.js";
import { sending } from "./sending.js";
const $ = (id) => document.getElementById(id);

export function surfacing(form, results) {
  async function order() {
    const text = $("lie-dpi").value.trim();
    return { values: form.missing().length ? null : form.complete(), dpi: text === "" ? null : numberOf(text), back: $("lie-back").checked };
  }

  async function show(result) {
    draw($("lie-picture"), result.picture, result.rows.map(([name, value]) => `${name}: ${value}`).join("; "));
    $("lie-rows").replaceChildren(...result.rows.flatMap(([name, value]) => [make("dt", {}, name), make("dd", {}, value)]));
    $("lie-remarks").replaceChildren(...result.remarks.map((text) => make("li", { class: "note" }, text)));
    results.measured(result.film);
    say(result.film ? "Measured. The relief under In focus shows it too." : "No height could be measured: see the remarks.");
  }

  function tell(error) {
    say(`Not measured: ${error.errors && error.errors.length ? error.errors.map((one) => form.plain(one.way_out)).join("; ") : error.message}`);
  }

  const { say } = sending("lie", {
    path: "/api/surface", crop: "crop all to the film, alike", order, show, tell,
    places: [["scan", "drop"], ["second", "drop2"], ["third", "drop3"]], count: () => ($("lie-back").checked ? 3 : 2),
  });
  $("lie-back").addEventListener("change", () => { $("lie-drop3").hidden = !$("lie-back").checked; });
}
