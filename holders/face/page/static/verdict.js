// The one sentence on the holder, and the next steps that were tried on it, each a button that does it.
import { post } from "./api.js";
import { make, put } from "./form.js";
const $ = (id) => document.getElementById(id);
const WAIT_MS = 20, QUIET_MS = 300;
const BEFORE = "Of the holder before, so they cannot be pressed. Changes to this one are tried once it is checked.";

export class VerdictBox {
  // `did` takes the values of a step that is done, `measure` the key that one is to be measured for
  constructor({ did, measure }) { Object.assign(this, { did, measure, number: 0 }); }

  show(verdict, stops, grave) {
    const box = $("verdict");
    box.hidden = false;
    box.className = `verdict ${stops ? "stop" : grave ? "warn" : "good"}`;
    put($("verdict-number"), "textContent", verdict.of_100);
    put($("verdict-text"), "textContent", verdict.text);
    put($("verdict-means"), "textContent", verdict.means);
    $("bar-number").title = verdict.means;
    put($("bar-number"), "textContent", `${verdict.of_100} of 100${verdict.supposed ? " (supposed)" : ""}`);
    $("bar-number").className = "";
  }

  // a newer change is wanted: what stands here is of the one before
  stale() {
    this.number += 1;
    for (const id of ["verdict", "bar-number"]) $(id).classList.add("old");
    $("next").classList.add("old");
    for (const button of $("next-steps").querySelectorAll("button")) button.disabled = true;
    if (!$("next").hidden) put($("next-say"), "textContent", BEFORE);
  }

  none() {
    this.number += 1;
    $("verdict").hidden = $("next").hidden = true;
    $("bar-number").textContent = "";
  }

  // asks for a little more until all are tried; ends where a newer change has come
  async follow(values) {
    const number = this.number += 1;
    let first = true;
    await new Promise((resolve) => setTimeout(resolve, QUIET_MS));  // who goes on changing is not waited for
    if (number !== this.number) return;
    try {
      for (;;) {
        const answer = await post("/api/steps", values);
        if (number !== this.number) return;
        if (!answer.ok) { $("next").hidden = true; return; }
        this.steps(answer, first);
        first = false;
        if (answer.done) break;
        await new Promise((resolve) => setTimeout(resolve, WAIT_MS));
        if (number !== this.number) return;
      }
      document.documentElement.dataset.steps = String(number);
    } catch { $("next").hidden = true; }  // the holder stands all the same
  }

  steps({ next, done, tried }) {
    $("next").hidden = false;
    $("next").classList.remove("old");
    const had = document.activeElement && document.activeElement.dataset.step;
    $("next-steps").replaceChildren(...next.map((step) => this.step(step)));
    if (had) { const again = [...$("next-steps").querySelectorAll("button")].find((b) => b.dataset.step === had); if (again) again.focus(); }
    const many = `${tried} ${tried === 1 ? "change" : "changes"} tried`;
    put($("next-say"), "textContent", done ? (next.some((step) => !step.by_hand) ? "" : `${many} on this holder; none gains.`) : `Trying changes on this holder: ${many} …`);
  }

  step(step) {
    const price = [step.minutes > 1 ? `${long(step.minutes)} longer` : step.minutes < -1 ? `${long(-step.minutes)} shorter` : "",
      step.hidden_mm2 > 1 ? `hides ${Math.round(step.hidden_mm2 / 100)} cm² more` : ""].filter(Boolean).join(", ");
    const gain = step.now === step.then ? `${step.now} of 100, ${step.gain < 0.001 ? "no less" : "a little more"}` : `${step.now} → ${step.then} of 100`;
    const say = [make("span", { class: "what" }, step.text.replace(/ \((holders |layout\.)[^)]*\)/, "")), make("b", {}, gain), ...(price ? [make("span", { class: "price" }, price)] : [])];
    if (step.by_hand) return make("li", { class: "by-hand" }, ...say);  // on the holder that is there: nothing here to press
    const button = make("button", { type: "button", "data-step": step.text }, ...say);
    button.addEventListener("click", () => (step.measure ? this.measure(step.field) : this.did(step)));
    return make("li", {}, button);
  }
}

const long = (minutes) => (minutes >= 90 ? `${Math.round(minutes / 6) / 10} h` : `${Math.round(minutes)} min`);
