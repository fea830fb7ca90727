// Ties the page together: a change is drawn at once, the film follows, and only the newest answer counts.
import { get, hand, post, postText } from "./api.js";
import { Form, make } from "./form.js";
import { making } from "./making.js";
import { measuring } from "./measuring.js";
import { Results } from "./results.js";
import { State, same } from "./state.js";
import { Turn } from "./turn.js";
const $ = (id) => document.getElementById(id);
const root = document.documentElement;
const QUIET_MS = 60, TYPED_MS = 700;

const state = new State();
let form, results, typed = 0;
const wanted = { since: 0, number: 0, busy: false };
const film = { number: 0, busy: false, timer: 0 };

function changed(_path, done) {
  clearTimeout(typed);
  if (done) state.commit(); else typed = setTimeout(() => { state.commit(); buttons(); }, TYPED_MS);
  buttons();
  refresh();
}

function refresh() {
  wanted.number += 1;
  wanted.since = performance.now();
  delete root.dataset.settled;
  clearTimeout(film.timer);
  if (!wanted.busy) sketch();
}

// first the holder: asked at once; what changes meanwhile is asked when the answer is there
async function sketch() {
  wanted.busy = true;
  try {
    for (let number = 0; number !== wanted.number;) {
      number = wanted.number;
      const since = wanted.since, missing = form.missing();
      if (missing.length) { results.waiting(missing); continue; }
      const values = form.complete();
      const answer = await post("/api/sketch", values);
      if (number !== wanted.number) continue;
      if (!answer.ok) { results.refused(answer.errors); continue; }
      await results.drawn(answer, false);
      root.dataset.sketchMs = (performance.now() - since).toFixed(1);
      film.timer = setTimeout(() => whole(), QUIET_MS);
    }
  } catch (error) { trouble(error.message); } finally { wanted.busy = false; }
}

// then the film in it and the checks
async function whole() {
  if (film.busy) return;
  film.busy = true;
  try {
    while (film.number !== wanted.number) {
      const number = wanted.number, since = wanted.since, values = form.complete();
      const answer = await post("/api/whole", values);
      film.number = number;
      if (number !== wanted.number) {
        if (wanted.busy || form.missing().length) break;  // a sketch under way asks for the film when it is there
        continue;
      }
      if (answer.ok) await results.drawn(answer, true); else results.refused(answer.errors);
      root.dataset.wholeMs = (performance.now() - since).toFixed(1);
      root.dataset.settled = String(number);
    }
  } catch (error) { trouble(error.message); film.number = wanted.number; } finally { film.busy = false; }
}

function trouble(words, more = []) {
  const box = $("trouble"), shut = make("button", { type: "button" }, "Close");
  shut.addEventListener("click", () => { box.hidden = true; $("open").focus(); });
  box.replaceChildren(make("p", {}, words), ...more, shut);
  box.hidden = !words;
  if (words) box.focus();
}

function opened(answer) {
  if (!answer.ok) {
    const e = answer.errors[0], where = e.line ? `Line ${e.line}: ` : "";
    trouble(`This preset cannot be opened; the form stays as it was. ${where}${e.field} = ${e.value}: ${e.way_out}`, e.text ? [make("code", {}, e.text)] : []);
    return;
  }
  $("trouble").hidden = true;
  load(answer.values);
  results.say("Opened.", "Opened");
}

function load(values) { state.replace(values); form.show(); buttons(); refresh(); }

function step(by) {
  if (!state.step(by)) return;
  form.show();
  buttons();
  refresh();
}

function buttons() { $("undo").disabled = !state.canUndo; $("redo").disabled = !state.canRedo; }

function tools() {
  $("open").addEventListener("change", async () => {
    const file = $("open").files[0];
    if (!file) return;
    try {
      if (file.size > 65536) throw new Error("This file is larger than 64 KiB, so it is no preset.");
      opened(await postText("/api/open", await file.arrayBuffer()));
    } catch (error) { trouble(error.message); } finally { $("open").value = ""; }
  });
  $("shipped").addEventListener("change", async () => {
    const key = $("shipped").value;
    try { if (key) opened(await post("/api/shipped", { key })); else load({}); } catch (error) { trouble(error.message); }
  });
  $("save").addEventListener("click", async () => {
    try {
      const made = await post("/api/save", form.complete());
      hand(new Blob([made.text], { type: "application/toml" }), made.name);
      results.say(`Saved as ${made.name}.`, "Saved");
    } catch (error) {
      const missing = form.missing();
      if (error.errors && error.errors.length && !missing.length) results.refused(error.errors);
      trouble(missing.length ? `Not saved. Still to choose: ${missing.join(", ")}.` : `Not saved: ${error.message}`);
    }
  });
  $("undo").addEventListener("click", () => step(-1));
  $("redo").addEventListener("click", () => step(1));
  document.addEventListener("keydown", (e) => {
    if (!(e.ctrlKey || e.metaKey) || e.altKey) return;
    const key = e.key.toLowerCase(), back = key === "z" && !e.shiftKey, forth = key === "y" || (key === "z" && e.shiftKey);
    if (!back && !forth) return;
    if (typing()) return;  // the browser's own undo, letter by letter
    e.preventDefault();
    step(back ? -1 : 1);
  });
}

// whether a text field holds letters that are not yet a step of ours
function typing() {
  const here = document.activeElement;
  if (!here || !here.matches("input[type=text], input:not([type]), textarea")) return false;
  return !form.root.contains(here) || !same(state.values, JSON.parse(state.past[state.at]));
}

async function start() {
  try {
    const plan = await get("/api/form");
    form = new Form($("form"), plan, state, changed);
    results = new Results(form, new Turn($("turn"), { round: $("turn-round"), tilt: $("turn-tilt"), apart: $("turn-apart") }));
    $("shipped").append(...plan.presets.map((p) => make("option", { value: p.key }, p.title)));
    measuring((bed) => {
      for (const [key, value] of Object.entries(bed)) state.set(`bed.${key}`, value);
      form.show();
      changed("bed", true);
      form.goTo("bed.focus_height_mm");
    });
    making(form);
    tools();
    buttons();
    refresh();
    root.dataset.ready = "yes";
  } catch (error) { trouble(error.message); }
}

start();
