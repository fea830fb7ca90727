// Everything that follows a change: drawings, numbers, checks, and one spoken line.
import { draw } from "./drawing.js";
import { make, put } from "./form.js";
const $ = (id) => document.getElementById(id);
const TURN_MS = 150;  // after what is wanted sooner
const LEDGE = "Ledge, above the glass", SHARPEST = "Sharpest height of the scanner";
const LATER = new Set([LEDGE, "Ledge, above the holder's underside", "Plane of the picture, flat film", "Height of the whole", "Picture shown",
  "Film sags below the ledge", "Film nearest to the glass", "Picture in focus"]);

export function words(finding) {
  return [finding.title, finding.said, finding.where, finding.advice].filter(Boolean).join("; ");
}

export class Results {
  constructor(form, { turn, glass, relief, verdict }) { Object.assign(this, { form, turn, glass, relief, verdict, last: null, trying: false, how: ["first"], nothing: true }); }

  // the first holder, or the first after an empty form: until it stands there is nothing to make
  begun(name) {
    if (!this.nothing) return;
    this.makeable("first");
    this.say(`Drawing the holder for ${name} …`, "Drawing the holder …");
  }

  // no answer came for it
  failed() {
    if (!this.nothing) return;
    this.makeable("none");
    this.say("The holder could not be drawn. Any change tries again.", "Nothing drawn yet");
  }

  waiting(missing) {
    this.nothing = true;
    $("made").hidden = $("details").hidden = true;
    this.verdict.none();
    this.makeable("none");
    this.veil("");
    $("results").classList.remove("pending");
    this.form.notes([], words);
    this.say(`Still to choose: ${missing.join(", ")}. The holder then appears here.`, "Nothing drawn yet");
  }

  refused(errors) {
    const homeless = this.form.errors(errors);
    this.makeable("none");
    $("results").classList.add("pending");
    const where = errors.map((e) => { const f = this.form.find(e.field); return f ? f.label : e.field; });
    const first = errors[0];
    this.say(`Not drawn: look at ${where.join(", ")}. ${homeless.map((e) => e.way_out).join("; ")}`, "Look at the marked fields");
    if (first) this.veil(`${where[0]}: ${first.value}: ${this.form.plain(first.way_out)}.`.replace("..", "."), first.field);
  }

  // the picture of the holder before, veiled with the one sentence on what is wrong now
  veil(words, field = "") {
    put($("veil"), "hidden", !words);
    $("veil").parentElement.classList.toggle("veiled", Boolean(words));
    put($("veil-say"), "textContent", words);
    this.veiledField = field;
  }

  drawn(answer, done) {
    this.form.errors([]);
    this.veil("");
    put($("made"), "hidden", false);
    put($("details"), "hidden", false);
    $("results").classList.toggle("pending", !done);
    const n = Object.fromEntries(answer.numbers);
    this.numbers(answer.numbers, done);
    this.beside(answer);
    draw($("section"), answer.section, `Section at the window's edge: ledge ${n[LEDGE]} above the glass, sharpest height ${n[SHARPEST]}`);
    if ("film" in answer) this.film(answer, n);
    if (!done) {
      if (this.nothing) this.say("Drawn; the checks are under way …", "Checking the holder …");
      return;
    }
    this.nothing = false;
    this.whole(answer, n);
    this.turned(0);
  }

  // what no richer answer brings anew: the plan and the shape to turn about
  beside(answer) {
    if (!answer.plan) return;
    this.inPieces = answer.in_pieces;
    this.shape = { ...answer.shape, in_pieces: answer.in_pieces };  // the newest, whenever its turn to be drawn comes
    const n = Object.fromEntries(answer.numbers);
    this.glass.show(this.shape, `The holder on the glass, to scale, ${this.shape.films.length} ${this.shape.films.length === 1 ? "film" : "films"} in it: outer size ${n["Outer size"]}`);
    put($("glass-caption"), "textContent", `${n["Outer size"]}. Home end below; dashed: what the lamp lights; hatched: keep clear for calibration.`);
    draw($("plan"), answer.plan, `Plan from above: outer size ${n["Outer size"]}; windows: ${n["Windows"]}; lip: ${n["Lip"]}`);
    this.turned(TURN_MS);
  }

  // a view that waits is not put off by the next change
  turned(later) {
    if (this.turning && later) return;
    clearTimeout(this.turning);
    this.turning = setTimeout(() => { this.turning = 0; this.turn.show(this.shape); }, later);
  }

  numbers(rows, done) {
    const old = $("numbers").children.length ? [...$("numbers").querySelectorAll("dt")].map((t) => [t.textContent, t.nextElementSibling.textContent]) : [];
    const known = new Set(rows.map(([name]) => name));
    if (!done) rows = [...rows, ...old.filter(([name]) => LATER.has(name) && !known.has(name))];
    const list = $("numbers").children;
    if (rows.length * 2 !== list.length) $("numbers").replaceChildren(...rows.flatMap(() => [make("dt"), make("dd")]));
    rows.forEach(([name, value], k) => {
      put(list[2 * k], "textContent", name);
      put(list[2 * k + 1], "textContent", value);
      put(list[2 * k + 1], "className", LATER.has(name) ? "later" : "");
    });
  }

  film(answer, n) {
    for (const id of ["film", "film-probe", "film-read"]) put($(id), "hidden", !answer.film);
    put($("film-why"), "hidden", Boolean(answer.film));
    put($("film-why"), "textContent", answer.film ? "" : answer.why_not || "No film surface is known.");
    put($("film-warmth"), "hidden", !(answer.film && answer.film.warm));
    put($("film-measure"), "hidden", true);  // it was measured in the holder before
    $("film-measured").checked = false;
    put($("film-which"), "hidden", !(answer.films && answer.films.length > 1));
    if (!answer.film) return;
    this.one(answer.film, answer.film_words);
    this.which(answer.films || []);
  }

  // one film in its window
  one(film, words) {
    this.computed = film;
    put($("film-warmth"), "hidden", !film.warm);
    const shown = () => (film.warm && $("film-warm").checked ? { ...film, ...film.warm } : film);
    $("film-warm").onchange = () => this.relief.show(shown(), this.relief.place.getAttribute("aria-label"));
    this.relief.show(shown(), words);
  }

  // of several kinds of film in the holder, the worst first
  which(films) {
    const box = $("film-kind"), names = films.map((film) => film.name), was = box.value;
    if (JSON.stringify(names) !== JSON.stringify([...box.options].map((o) => o.value))) box.replaceChildren(...names.map((name) => make("option", { value: name }, name)));
    const take = () => {
      const found = films[Math.max(0, box.selectedIndex)];
      if (!found) return;
      this.one(found.film, found.film_words);
      if (box.selectedIndex > 0) this.relief.curls([], 0);  // other curls are known of the worst film
    };
    box.onchange = take;
    if (films.length > 1 && names.includes(was)) { box.value = was; if (names.indexOf(was) > 0) take(); }
  }

  // the film as two scans showed it, over the relief of the computed one
  measured(film) {
    put($("film-measure"), "hidden", !film || !this.computed);
    if (!film || !this.computed) return;
    const words = this.relief.place.getAttribute("aria-label");
    const shown = () => this.relief.show($("film-measured").checked ? { ...this.computed, ...film, beside: this.computed } : this.computed, words);
    $("film-measured").onchange = shown;
    $("film-measured").checked = true;
    shown();
  }

  // the chance, which is there before all the checks
  judged({ verdict, example, stops, warnings }) {
    put($("example"), "hidden", !example);
    put($("example-say"), "textContent", example || "");
    this.verdict.show(verdict, stops, warnings);
  }

  whole(answer, n) {
    const findings = answer.findings.map((f, k) => ({ ...f, said: answer.said[k] }));
    const grave = findings.filter((f) => f.level === "stop" || f.level === "warn");
    grave.sort((a, b) => (a.level === "stop" ? 0 : 1) - (b.level === "stop" ? 0 : 1));
    const own = grave.filter((f) => !(f.follows_from in answer.also));  // the others stand in one line below their cause
    this.form.notes(own, words);
    $("checks").replaceChildren(...own.map((f) => this.item(f, answer.also[f.title])));
    const outside = (f) => f.level === "skip" && f.measured !== null;  // it applies, and warns of nothing: its advice says why
    const called = (f) => (f.level === "pass" ? "Passed: " : outside(f) ? "Outside its limit, no warning: " : "Does not apply: ");
    $("checks-passed").replaceChildren(...findings.filter((f) => !grave.includes(f)).map((f) => make("li", { class: "note" }, make("b", {}, called(f)), this.form.plain(words(f)))));
    const count = (level) => findings.filter((f) => f.level === level).length;
    const some = (n, one, more) => `${n} ${n === 1 ? one : more}`;
    const follow = grave.filter((f) => f.level === "stop" && !own.includes(f)).length, from = follow ? ` (${follow} of them ${follow === 1 ? "follows" : "follow"} from another)` : "";
    const beside = findings.filter(outside).length;
    const told = `${some(count("stop"), "stop", "stops")}${from}, ${some(count("warn"), "warning", "warnings")}, ${count("pass")} passed${beside ? `, ${beside} outside ${beside === 1 ? "its limit" : "their limits"} without a warning` : ""}`;
    $("checks-count").textContent = told + ".";
    $("remarks").replaceChildren(...answer.notes.map((note) => make("li", { class: "note" }, note[0].toUpperCase() + note.slice(1))));
    put($("crops-say"), "textContent", answer.crops.words);
    $("crops").replaceChildren(...answer.crops.tables.map(table));
    $("cautions").replaceChildren(...answer.cautions.map(caution));
    $("reason-box").hidden = !answer.stops.length;
    if (answer.film) this.relief.curls(answer.curled, Number(answer.usual_curl));
    this.form.curls(answer.curls);
    this.judged({ verdict: answer.verdict, example: answer.example, stops: count("stop"), warnings: count("warn") });
    this.last = answer;
    const focus = n["Picture in focus"] ? `, ${n["Picture in focus"].replace("100.0", "100")} of the picture in focus with usual film, cold` : "";
    const stop = own.find((f) => f.level === "stop");
    this.makeable(answer.never ? "never" : stop ? "stop" : "", answer.never);
    this.say(`Drawn: ledge ${n[LEDGE]} above the glass${focus}. Checks: ${told}.`, stop ? `Stop: ${this.form.plain(stop.title)}` : `Ledge ${n[LEDGE]} above the glass${focus.replace("of the picture in focus with usual film", "in focus, usual film")}`);
  }

  // what the button at the foot says it is: "" a holder to be made, "stop" one that a reason is asked for, "never" one
  // that no reason helps, "none" nothing that could be made, "first" nothing that could be made yet
  makeable(how, why = "") {
    const button = $("make"), alone = this.trying && how === "";
    if (how === "first" || this.how[0] === "first") button.disabled = how === "first";
    this.how = [how, why];
    button.classList.toggle("main", how === "" && !alone);
    button.classList.toggle("halt", how === "stop" || how === "never");
    button.dataset.never = why;
    if (how === "never") button.setAttribute("aria-disabled", "true"); else button.removeAttribute("aria-disabled");
    put($("make-word"), "textContent", how === "never" ? "Not to be made" : "Make");
    put($("make-what"), "textContent", how === "never" || alone ? "" : " the files");
    put($("make-how"), "textContent", how === "stop" ? " anyway" : alone ? " the frame by itself" : "");
  }

  // while what holds the film is being tried, the button makes the frame by itself and says so
  trial(on) {
    if (this.trying === on) return;
    this.trying = on;
    this.makeable(...this.how);
  }

  item(finding, also) {
    const plain = (text) => this.form.plain(text), how = [finding.said].filter(Boolean);
    const made = make("li", { class: `note ${finding.level}` }, make("b", {}, `${finding.level === "stop" ? "Stop" : "Warning"}: ${plain(finding.title)}`), ...how.map((text) => make("p", {}, text)));
    if (finding.advice) made.append(make("p", {}, make("b", {}, "What to do: "), plain(finding.advice)));
    if (also) made.append(make("p", {}, also[0].toUpperCase() + also.slice(1)));
    if (finding.where) made.append(make("details", {}, make("summary", {}, "Why"), make("p", {}, plain(finding.where))));
    const found = finding.field && this.form.find(finding.field);
    if (found) {
      const part = found.input.closest("details[id^=d-]"), of = part && found.input.id.startsWith("f-") ? `${part.firstChild.firstChild.textContent}: ` : "";
      const link = make("a", { href: "#" + found.input.id }, `Change: ${of}${found.label}`);
      link.addEventListener("click", (e) => { e.preventDefault(); this.form.goTo(finding.field); });
      made.append(" ", link);
    }
    return made;
  }

  say(text, short) {
    put($("say"), "textContent", text);
    put($("short"), "textContent", short);
  }
}

function table({ caption, head, rows }) {
  const body = rows.map(([first, ...cells]) => make("tr", {}, make("th", { scope: "row" }, first), ...cells.map((cell) => make("td", {}, cell))));
  const names = make("tr", {}, ...head.map((name) => make("th", { scope: "col" }, name)));
  return make("table", { class: "boxes" }, make("caption", {}, caption), make("thead", {}, names), make("tbody", {}, ...body));
}

// its name stands there, what it says is unfolded; the job sheet has all of it
function caution(note) {
  const end = note.indexOf(". ");
  return make("li", { class: "note" }, make("details", {}, make("summary", {}, note.slice(0, end)), make("p", {}, note.slice(end + 2))));
}
