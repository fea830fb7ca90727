// The five stations: one is open at a time, each can be used alone; and the views of the stage.
import { make } from "./form.js";

export const STATIONS = [["scanner", "Scanner"], ["film", "Film"], ["holder", "Holder"], ["make", "Make"], ["scan", "Scan"]];
const KEPT = "holders-station";

export class Stations {
  constructor(nav, form) {
    this.buttons = new Map(STATIONS.map(([key, title], k) => {
      const mark = make("span", { class: "mark" });
      const button = make("button", { type: "button", "data-station": key }, make("span", { class: "count", "aria-hidden": "true" }, String(k + 1)), title, mark);
      button.addEventListener("click", () => { this.open(key); form.scrollIntoView({ block: "start" }); document.getElementById("s-" + key).focus({ preventScroll: true }); });
      return [key, button];
    }));
    nav.replaceChildren(...this.buttons.values());
    this.form = form;
    let first = "holder";
    try { first = sessionStorage.getItem(KEPT) || first; } catch { /* private windows */ }
    this.open(this.buttons.has(first) ? first : "holder");
  }

  open(key) {
    for (const [name, button] of this.buttons) {
      if (name === key) button.setAttribute("aria-current", "true"); else button.removeAttribute("aria-current");
      document.getElementById("s-" + name).hidden = name !== key;
    }
    document.body.dataset.at = key;
    try { sessionStorage.setItem(KEPT, key); } catch { /* private windows */ }
  }

  // the station that holds a control
  reveal(node) {
    const station = node.closest(".station");
    if (station && station.hidden) this.open(station.id.slice(2));
  }

  marks() {
    for (const [name, button] of this.buttons) {
      const wrong = document.getElementById("s-" + name).querySelector("[aria-invalid], .note.stop");
      const text = wrong ? " – look here" : "";
      const mark = button.querySelector(".mark");
      if (mark.textContent !== text) mark.textContent = text;
    }
  }
}

// the views of the stage: one is shown, the others wait
export function views(place, changed) {
  const figures = [...document.querySelectorAll("[data-view]")];
  const buttons = figures.map((figure) => make("button", { type: "button", "aria-pressed": String(!figure.hidden) }, figure.dataset.view));
  buttons.forEach((button, k) => button.addEventListener("click", () => {
    figures.forEach((figure, i) => { figure.hidden = i !== k; });
    buttons.forEach((other, i) => other.setAttribute("aria-pressed", String(i === k)));
    changed();
  }));
  place.replaceChildren(...buttons);
}
