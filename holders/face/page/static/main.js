// Ties the page together: a change is drawn at once, the film follows, and only the newest answer counts.
import { get, hand, post, postText } from "./api.js";
import { byCamera } from "./camera.js";
import { curling } from "./curling.js";
import { slides } from "./drawing.js";
import { surfacing } from "./surfacing.js";
import { CHOICES, Form, make, put } from "./form.js";
import { Glass } from "./glass.js";
import { looking } from "./looking.js";
import { making } from "./making.js";
import { measuring } from "./measuring.js";
import { WAYS, showEfforts, showProposed, staleEfforts } from "./pictures.js";
import { Relief } from "./relief.js";
import { Results } from "./results.js";
import { noneBeside } from "./sending.js";
import { sharePicture } from "./share.js";
import { FILE, OPTIONAL, State, same } from "./state.js";
import { Stations, views } from "./stations.js";
import { Turn } from "./turn.js";
import { VerdictBox } from "./verdict.js";
const $ = (id) => document.getElementById(id);
const root = document.documentElement;
const QUIET_MS = 60, TICK_MS = 1000, TYPED_MS = 700, APART_MS = 200, PROMPT_MS = 120, LATE_MS = 140;

// what is measured by dropping a scan: the box for it, not the number's own field
const MEASURED_AT = { "base.curl_per_m": "c-scan", "bed.focus_sigma_mm": "m-scan" };

const state = new State();
let form, results, stations, verdict, typed = 0;
const wanted = { since: 0, number: 0 }, shown = { number: 0, rank: 0, all: false };
const stages = ["sketch", "film", "whole"].map((kind, rank) => ({ kind, rank, number: 0, busy: false, errors: null }));
const [SKETCH, FILM, WHOLE] = stages;
let choosing = false;  // an empty form, whose choices are being made
let between = false;  // a choice was made, and the holder that follows from it is not known yet
let trying = null, ticking = 0;  // ends the trial of what holds the film, while one is under way; its clock
let judging = 0, early = 0, joint = 0, tookMs = Infinity;
let foreseeing = null;  // ends what is tried for the other ways' cards
const foreseen = new Map();  // what that found, by way

function changed(path, done) {
  clearTimeout(typed);
  endTrial();
  const whole = done && !form.missing().length, first = whole && choosing, card = CHOICES.includes(path);
  if (path && !card) state.byHand(path);
  if (path === "layout.count" && state.dropFrame().length && done) form.show();
  if (whole) choosing = false;
  if (card && whole && !first) { chosen(path); return; }
  if (first) setTimeout(proposed, 0);  // once the change has been taken
  also("");
  if (done) state.commit(); else typed = setTimeout(() => { state.commit(); buttons(); }, TYPED_MS);
  buttons();
  form.entitle();
  refresh();
}

// another film, way of making or flatbed: the holder is proposed again for it, unless the user has set some of it by hand
async function chosen(path) {
  outdated();
  const theirs = state.dropExample().length > 0, gone = path === "film.format" ? state.dropFilm() : [];
  if (!state.own.length) { await afresh(); return; }
  let words = "";
  if (path === "route") words = await rerouted(); else { state.commit(); buttons(); form.show(); refresh(); }
  const left = [words, theirs && "left out: the heights of the example's scanner", gone.length && `left out, of the film before: ${gone.map(labelled).join(", ")}`].filter(Boolean).join("; ");
  also(`${keptWords()}.${left ? ` Changed with it: ${left}.` : ""}`, true);
}

// what stands on the page is of the holder before, and so would be what is still being tried on it
function outdated() {
  between = true;
  verdict.stale();
}

const labelled = (path) => { const found = form.find(path); return found ? found.label : path; };

// what was set by hand, as the form calls it
function keptWords() {
  if (state.hand.has(FILE)) return "Kept: what the preset you opened says of the holder";
  const names = state.own.map((path) => {
    const found = form.find(path), value = state.get(path), text = ["number", "string"].includes(typeof value) ? ` ${value}` : "";
    return found && OPTIONAL.includes(path) ? `${value === undefined ? "without" : "with"} ${found.label.replace(/^With /, "")}` : `${labelled(path)}${text}`;
  });
  return `Kept as you set it: ${names.slice(0, 4).join(", ")}${names.length > 4 ? ` and ${names.length - 4} more` : ""}`;
}

// the one line on what came with a change; `more`: a button beside it has the rest proposed again
function also(words, more = false) {
  put($("also"), "hidden", !words);
  put($("also-say"), "textContent", words);
  put($("also-go"), "hidden", !more);
}

// the form as it stands, without a title that nobody has given
function untitled() {
  const asked = form.complete();
  if (state.get("title") === undefined) delete asked.title;
  return asked;
}

// another way of making: what cannot be made that way goes with it, in one change
async function rerouted() {
  const asked = untitled();
  try {
    const answer = await post("/api/reroute", { values: asked, by_hand: [...state.hand] });
    if (!same(asked, state.values)) return "";  // changed again meanwhile
    load(answer.ok ? answer.values : asked, { brought: true });
    return answer.words || "";
  } catch (error) { trouble(error.message); return ""; }
}

// the choices alone, at once, with what was set by hand; then what holds such film is tried, in the same step of undo
async function afresh() {
  outdated();
  const asked = untitled();
  state.hand.delete(FILE);
  try {
    const answer = await post("/api/afresh", { values: asked, by_hand: [...state.hand] });
    if (!same(asked, state.values)) return;
    if (!answer.ok) { load(asked); return; }
    load(answer.values, { brought: true });
    await proposed(true, answer.words);
  } catch (error) { trouble(error.message); }
}

// the choices are made: what holds such film well is tried, and taken if nothing has changed meanwhile. `joined`: undo
// takes it back together with the change before
async function proposed(joined = false, left = "") {
  const asked = untitled(), kept = state.own.length ? `${keptWords()}. ` : "";
  endTrial();
  const own = trying = new AbortController();
  also("Trying what holds this film … Until then this is the frame by itself.");
  tick();
  results.trial(true);
  let words = "";
  try {
    const answer = known(asked) || await post("/api/propose", { values: asked, by_hand: [...state.hand] }, own.signal);
    if (own.signal.aborted) return;
    tried();
    if (!same(asked, state.values)) return;
    if (answer.ok && answer.words) { load(answer.values, { joined, brought: true }); words = `Proposed for these choices: ${answer.words.replace("->", "→")}. Undo brings the holder before back.`; }
    else { if (answer.ok) words = "Tried what holds this film: nothing that was added gains."; refresh(); }
  } catch {
    if (own.signal.aborted) return;
    tried();
    words = "What holds this film could not be tried; this is the frame by itself.";
    refresh();
  }
  also([kept + words, left && `${left[0].toUpperCase()}${left.slice(1)}.`].filter(Boolean).join(" "));
}

// what was tried for this very card before it was pressed
function known(asked) {
  const found = foreseen.get(asked.route);
  return found && same([found.begun, found.by_hand], [asked, [...state.hand]]) ? found : null;
}

function endTrial() {
  if (trying) trying.abort();
  tried();
}

function tried() {
  trying = null;
  clearInterval(ticking);
  put($("also-time"), "textContent", "");
  if (results) results.trial(false);
}

// the seconds that the trial has taken, for the eye alone: spoken every second they would drown all else
function tick() {
  const since = performance.now();
  clearInterval(ticking);
  ticking = setInterval(() => put($("also-time"), "textContent", `${Math.round((performance.now() - since) / TICK_MS)} s`), TICK_MS);
}

// drawing and film at once after a single change, in one answer or two; of many changes in a row, as while one types,
// the drawing alone, and the film when it is there; the checks when both are there and it is quiet
function refresh() {
  const now = performance.now();
  between = false;
  wanted.number += 1;
  if (now - wanted.since > APART_MS) early = wanted.number;
  wanted.since = now;
  delete root.dataset.settled;
  delete root.dataset.steps;
  delete root.dataset.foreseen;
  if (foreseeing) foreseeing.abort();
  if (!form.missing().length) results.begun(form.row("film") ? form.row("film").name : state.get("film.format"));
  staleEfforts(form);
  verdict.stale();
  clearTimeout(judging);
  follow(FILM);  // first, as it takes longer
  follow(SKETCH);
}

// a film that will soon be there brings the drawing: one answer, painted once, is there before two side by side
function willBringAll(number) {
  if (early !== number || tookMs > PROMPT_MS || results.inPieces) return false;  // to cut it up takes as long as the film
  joint = number;
  setTimeout(() => alone(number), LATE_MS);
  return true;
}

// it does not after all, or not soon
function alone(number) {
  if (joint !== number) return;
  joint = 0;
  follow(SKETCH);
}

const due = (stage) => (stage === SKETCH && joint !== wanted.number) || SKETCH.number === wanted.number || (stage === FILM && early === wanted.number);

function judge() {
  clearTimeout(judging);
  const quiet = early === wanted.number ? 0 : QUIET_MS;  // after a single change nothing else is awaited
  if ([SKETCH, FILM].every((stage) => stage.number === wanted.number && !stage.errors)) judging = setTimeout(() => follow(WHOLE), quiet);
}

// asks until the newest change is answered; a poorer answer never covers a richer one to the same change
async function follow(stage) {
  if (stage.busy) return;
  stage.busy = true;
  try {
    while (stage.number !== wanted.number && due(stage)) {
      const number = wanted.number, since = wanted.since, missing = form.missing();
      if (missing.length) { stage.number = number; results.waiting(missing); continue; }
      let answer = null;
      if (stage === WHOLE) await glimpse(number, since);
      if (stage === WHOLE && number !== wanted.number) {
        stage.number = number;
        if (FILM.number !== wanted.number) break;  // the film, when it is there, asks for the checks
        continue;
      }
      const asked = performance.now(), all = stage === FILM && willBringAll(number);
      try { answer = await post(`/api/${stage.kind}${all ? "?drawing" : ""}`, form.complete()); } catch (error) {
        if (number === wanted.number) trouble(error.message);  // else the newest is asked for now
      }
      if (stage === FILM) tookMs = performance.now() - asked;
      Object.assign(stage, { number, errors: answer === null ? [] : answer.ok ? null : answer.errors });
      if (number !== wanted.number) {
        if (stage === WHOLE && FILM.number !== wanted.number) break;  // the film, when it is there, asks for the checks
        continue;
      }
      const both = all && answer !== null && answer.ok;
      if (both) Object.assign(SKETCH, { number, errors: null }); else if (all) alone(number);
      if (answer === null) { results.failed(); break; }
      if (stage === SKETCH && shown.number === number && shown.all) continue;  // a late film brought it after all
      if (stage === SKETCH && answer.ok) follow(FILM);
      if (answer.ok) show(answer, stage, number); else results.refused(answer.errors);
      painted(() => {
        for (const { kind } of both ? [SKETCH, FILM] : [stage]) root.dataset[`${kind}Ms`] = (performance.now() - since).toFixed(1);
        if (stage === WHOLE && number === wanted.number) root.dataset.settled = String(number);
      });
      if (stage === WHOLE && answer.ok) beside(number, answer.effort);
      if (stage !== WHOLE && answer.ok) judge();
    }
  } catch (error) { trouble(error.message); } finally { stage.busy = false; }
}

// the chance alone, which needs half the time of all the checks
async function glimpse(number, since) {
  try {
    const answer = await post("/api/chance", form.complete());
    if (number !== wanted.number || !answer.ok) return;
    results.judged(answer);
    painted(() => { root.dataset.chanceMs = (performance.now() - since).toFixed(1); });
  } catch { /* all the checks say it too */ }
}

// what is worth knowing once the holder stands: what each way of making takes, then the steps that are tried on it;
// one is asked for at a time, and of changes in a row the newest
async function beside(number, own) {
  const asked = beside.under;
  beside.newest = number;
  beside.under = (async () => {
    await asked;
    if (number === beside.newest && number === wanted.number && !trying && !between) await besideThis(number, own);
  })();
}

async function besideThis(number, own) {
  const values = form.complete(), afresh = !state.own.length;
  const asked = { values: untitled(), by_hand: [...state.hand].filter((path) => path !== FILE) };
  try {
    const answer = await post("/api/routes", asked);
    if (answer.ok && number === wanted.number) showEfforts(form, { ...answer.routes, [values.route]: own }, afresh);
  } catch { /* the pictures stand without it */ }
  if (number !== wanted.number || between) return;
  await verdict.follow(values);
  if (afresh && !between) await foresee(number, asked);
}

// the holder that each other way's card would propose, tried once nothing else is wanted: what it takes, and a press
// that has it at once
async function foresee(number, asked) {
  for (const [route] of WAYS.filter(([key]) => key !== asked.values.route)) {
    if (number !== wanted.number) return;
    foreseeing = new AbortController();
    try {
      const answer = await post("/api/ahead", { ...asked, route }, foreseeing.signal);
      if (number !== wanted.number || !answer.ok) return;
      foreseen.set(route, { ...answer, by_hand: asked.by_hand });
      showProposed(form, route, answer.effort);
    } catch { return; }  // a newer change, or a machine too slow for it: what stands there says "about"
  }
  root.dataset.foreseen = String(number);
}

function show(answer, stage, number) {
  if (shown.number === number && shown.rank > stage.rank) return results.beside(answer);
  Object.assign(shown, { number, rank: stage.rank, all: Boolean(answer.plan) });
  results.drawn(answer, stage === WHOLE);
  if (stage === WHOLE) state.drew();
  if (stage === SKETCH && FILM.number === number && FILM.errors && FILM.errors.length) results.refused(FILM.errors);
}

// when the browser has painted what stands on the page now
function painted(then) {
  requestAnimationFrame(() => {
    const after = new MessageChannel();  // a timer would wait longer
    after.port1.onmessage = then;
    after.port2.postMessage(null);
  });
}

function trouble(words, more = []) {
  const box = $("trouble"), shut = make("button", { type: "button" }, "Close");
  shut.addEventListener("click", () => { box.hidden = true; $("open").focus(); });
  box.replaceChildren(make("p", {}, words && words[0].toUpperCase() + words.slice(1)), ...more, shut);
  box.hidden = !words;
  if (words) box.focus();
}

// a preset from a file may be somebody else's: what they measured on their own scanner is offered to be taken out
async function whose(values) {
  $("theirs").hidden = true;
  const found = await post("/api/own", values);
  if (!found.ok || !found.blanks.length) return;
  const names = found.blanks.map((b) => { const f = form.find(b.field); return f ? f.label : b.field; });
  const many = names.length > 4 ? `${names.slice(0, 3).join(", ")} and ${names.length - 3} more` : names.join(", ");
  $("theirs-say").textContent = `This preset brings measured values: ${many}. They hold on the scanner, stock and film they were measured on.`;
  $("theirs-list").replaceChildren();
  for (const id of ["theirs-go", "theirs-keep"]) $(id).hidden = false;
  $("theirs-go").onclick = () => {
    load(found.values);  // what was theirs is nobody's by hand any more
    $("theirs-say").textContent = "Taken out; Undo brings them back. Yours are found so:";
    $("theirs-list").replaceChildren(...found.blanks.map((b, k) => make("li", {}, `${names[k]} (theirs: ${b.theirs}): ${b.how}`)));
    $("theirs-go").hidden = true;
    $("theirs-keep").textContent = "Close";
  };
  $("theirs-keep").textContent = "It is mine";
  $("theirs-keep").onclick = () => { $("theirs").hidden = true; };
  $("theirs").hidden = false;
}

// `own`: from a file of the user's, so that it is not a mere example
function opened(answer, own = false) {
  if (!answer.ok) {
    const e = answer.errors[0], where = e.line ? `Line ${e.line}: ` : "";
    trouble(`This preset cannot be opened; the form stays as it was. ${where}${e.field} = ${e.value}: ${e.way_out}`, e.text ? [make("code", {}, e.text)] : []);
    return;
  }
  $("trouble").hidden = true;
  if (own) { state.hand.clear(); load(answer.values, { brought: true }); state.ownAll(); } else begun(answer.values);
  results.say("Opened.", "Opened");
  if (answer.notes && answer.notes.length) trouble("This preset is of an older version. What was changed to open it:", answer.notes.map((note) => make("p", { class: "note" }, note)));
}

// a preset that comes from outside
async function taken(answer) {
  if (!answer) return;
  opened(answer, true);
  if (answer.ok) await whose(answer.values);
}

// `brought`: by a document or a proposal, so that it is no change of the user's
function load(values, { joined = false, brought = false } = {}) { endTrial(); also(""); state.replace(values, joined); if (brought) state.bring(); form.show(); choosing = form.missing().length > 0; buttons(); refresh(); }

// a preset that nobody here has written, or an empty form
function begun(values) { state.hand.clear(); load(values, { brought: true }); }

function step(by) {
  endTrial();
  if (!state.step(by)) return;
  also("");
  form.show();
  buttons();
  refresh();
}

function buttons() { put($("undo"), "disabled", !state.canUndo); put($("redo"), "disabled", !state.canRedo); }

function tools() {
  $("open").addEventListener("change", async () => {
    const file = $("open").files[0];
    if (!file) return;
    try {
      if (file.size > 33554432) throw new Error("This file is larger than 32 MiB, so it is no file of a holder.");
      await taken(await postText("/api/open", await file.arrayBuffer()));
    } catch (error) { trouble(error.message); } finally { $("open").value = ""; }
  });
  // who goes through the closed list by arrow or letter takes a row with Enter; else each on the way would be begun
  let key = "";
  const begin = async () => {
    const chosen = $("shipped").value;
    $("shipped").value = "";
    try {
      if (chosen === "empty") { begun({}); $("make-files").replaceChildren(); $("make-say").textContent = ""; stations.open("holder"); }
      else if (chosen === "camera") await taken(await byCamera());
      else if (chosen) opened(await post("/api/shipped", { key: chosen }));
    } catch (error) { trouble(error.message); }
  };
  $("shipped").addEventListener("pointerdown", () => { key = ""; });
  $("shipped").addEventListener("keydown", (e) => {
    key = e.altKey ? "" : e.key;
    if (key === "Enter" && $("shipped").value) { e.preventDefault(); begin(); }
  });
  $("shipped").addEventListener("change", () => {
    if (["", " ", "Enter"].includes(key)) begin();
    else results.say("Press Enter to begin from it.", "Enter begins from it");
  });
  $("shipped").addEventListener("blur", () => { key = $("shipped").value = ""; });
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
  $("share").addEventListener("click", async () => {
    try {
      const how = await sharePicture($("glass"), form.title() || "holder", $("verdict").hidden ? "" : $("verdict-text").textContent, hand);
      $("share-say").textContent = how === "copied" ? "Copied: paste it where you like." : "Saved among your downloads as my-holder.png.";
    } catch (error) { $("share-say").textContent = error.message; }
  });
  $("undo").addEventListener("click", () => step(-1));
  $("veil-undo").addEventListener("click", () => { const back = state.toDrawn(); if (back) step(-back); else load({}); });
  $("veil-go").addEventListener("click", () => form.goTo(results.veiledField));
  $("redo").addEventListener("click", () => step(1));
  $("example-go").addEventListener("click", () => form.goAt($("m-scan")));
  $("also-go").addEventListener("click", () => { $("undo").focus(); afresh(); });
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

// a step that was tried: its preset comes into the form, and Undo brings the one before back
function didStep(step) {
  const title = state.get("title");
  load(title === undefined ? step.values : { ...step.values, title });
  results.say(`Done: ${step.text}. Undo brings the holder before it back.`, "Step done");
  $("undo").focus();
}

async function start() {
  try {
    const plan = await get("/api/form");
    if (state.fresh) state.begin(plan.first);
    form = new Form($("form"), plan, state, changed, { reveal: (node) => stations.reveal(node), marked: () => { if (stations) stations.marks(); } });
    stations = new Stations($("stations"), $("form"));
    const turn = new Turn($("turn"), { round: $("turn-round"), tilt: $("turn-tilt"), apart: $("turn-apart") }, $("turn-true"));
    verdict = new VerdictBox({ did: didStep, measure: (path) => { if (MEASURED_AT[path]) form.goAt($(MEASURED_AT[path])); else form.goTo(path); } });
    results = new Results(form, { turn, glass: new Glass($("glass")), relief: new Relief($("film")), verdict });
    views($("views"), () => turn.draw());
    slides();
    $("shipped").append(...plan.presets.map((p) => make("option", { value: p.key }, p.title)));
    measuring((bed) => used("bed", bed, "bed.focus_height_mm"));
    curling((base) => used("base", base, "base.curl_per_m"), () => (form.row("base") || {}).key);
    looking(form);
    surfacing(form, results);
    noneBeside();
    making(form, (key) => stations.open(key));
    tools();
    buttons();
    refresh();
    root.dataset.ready = "yes";
  } catch (error) { trouble(error.message); }
}

// what was measured, put into the form
function used(table, found, shownAt) {
  for (const [key, value] of Object.entries(found)) { state.set(`${table}.${key}`, value); state.byHand(`${table}.${key}`); }
  form.show();
  changed("", true);
  form.goTo(shownAt);
}

start();
