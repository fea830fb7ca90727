import { STATIONS } from "./stations.js";
import { pictures } from "./pictures.js";
import { same } from "./state.js";
// The form, laid out from the server's description of a preset. Text stays as typed; the server judges it.
const make = (tag, attributes = {}, ...inside) => {
  const found = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) if (value != null && value !== false) found.setAttribute(name, value === true ? "" : value);
  found.append(...inside);
  return found;
};
// a form whose parts were written to is gone through anew by the browser, to offer what was typed before: some 20 ms
const put = (node, name, value) => { if (node[name] !== value) node[name] = value; };
export { make, put };
export const idOf = (path) => "f-" + path.replaceAll(".", "-");
const NUMBER = /^[+-]?(\d+([.,]\d*)?|[.,]\d+)$/;
export const numberOf = (text) => (NUMBER.test(text) ? Number(text.replace(",", ".")) : text);

const HOME = { scanner: "scanner", film: "film", making: "make", extras: "holder" };
export const CHOICES = ["film.format", "route", "bed.name"];  // the three that a holder begins with
const IN_SIGHT = ["lip.all_mm"];
const TEMPLATES = [["scanner", "measure-template"], ["film", "curl-template"], ["make", "make-template"], ["scan", "look-template"]];
const HEADS = {
  scanner: ["My scanner", "What you measure on your own flatbed counts for more than its class."],
  film: ["My film", "Which way it lies, how many at a time, and how curled it is."],
  holder: ["My holder", "Three choices make a holder; everything else has a good default."],
  make: ["Make it", "What it is made of, and the files."],
  scan: ["A finished scan", "Was it worth it? The scan says."],
};

export class Form {
  constructor(root, plan, state, changed, { reveal, marked } = {}) {
    Object.assign(this, { root, plan, state, changed, reveal: reveal || (() => {}), marked: marked || (() => {}), fields: new Map(), rows: {} });
    for (const [table, rows] of Object.entries(plan.rows)) this.rows[table] = new Map(rows.map((row) => [row.key, row]));
    this.optional = plan.groups.flatMap((group) => group.more.map((part) => part.optional)).filter(Boolean);
    this.layOut(plan.groups);
    root.addEventListener("submit", (e) => e.preventDefault());
    this.show();
  }

  // five stations: what everyone is asked for in sight, all else folded under More
  layOut(groups) {
    const sections = new Map(STATIONS.map(([key, title]) => [key, make("section", { class: "station", id: "s-" + key, "aria-label": title, tabindex: "-1" }, make("h2", {}, HEADS[key][0]), make("p", { class: "intro" }, HEADS[key][1]))]));
    const folded = new Map();
    this.named = make("div");
    for (const group of groups) {
      const home = HOME[group.key] || "holder", more = folded.get(home) || [];
      for (const field of group.fields) {
        const made = this.field(field);
        if (field.path === "title") this.named = made;
        else if (CHOICES.includes(field.path)) continue;
        else if (group.key === "extras" && !IN_SIGHT.includes(field.path)) more.push(made);
        else sections.get(home).append(made);
      }
      more.push(...group.more.map((part) => this.part(part)));
      folded.set(home, more);
    }
    const three = make("div", { class: "choices" }, ...CHOICES.map((path) => this.fields.get(path).box));
    sections.get("holder").querySelector(".intro").after(three);
    this.root.replaceChildren(...sections.values());
    for (const [station, template] of TEMPLATES) {
      const made = document.getElementById(template).content.cloneNode(true), section = sections.get(station);
      if (station === "make" || station === "film") section.append(made); else section.querySelector(".intro").after(made);
    }
    for (const [station, inside] of folded) {
      sections.get(station).append(make("details", { class: "more", id: "more-" + station }, make("summary", {}, "More", make("span", { class: "mark" })), ...inside));
    }
    document.getElementById("document").replaceChildren(this.named);
    pictures(this);
  }

  part(part) {
    const made = make("details", { id: "d-" + part.key }, make("summary", {}, part.title, make("span", { class: "mark" })));
    if (part.intro) made.append(make("p", { class: "intro" }, part.intro));
    const inside = part.fields.map((field) => this.field(field));
    if (!part.optional) { made.append(...inside); return made; }
    const box = make("input", { type: "checkbox", id: "t-" + part.optional });
    const all = make("div", { id: "o-" + part.optional, hidden: true }, ...inside);
    made.append(make("div", { class: "field check" }, box, make("label", { for: box.id }, `With ${part.title.toLowerCase()}`)), all);
    made.append(make("ul", { class: "notes", id: idOf(part.optional) + "-notes" }));
    box.addEventListener("change", () => {
      const start = this.plan.usual[part.optional];
      const given = start[this.state.get("route")] || start[""] || start.print;
      this.state.set(part.optional, box.checked ? structuredClone(given) : undefined);
      this.show();
      this.changed(part.optional, true);
    });
    return made;
  }

  // further kinds of film: a line each with its number, its format and its side
  films(field) {
    const id = idOf(field.path), list = make("div", {}), more = make("button", { type: "button", id }, "Add a kind of film");
    const made = make("div", { class: "field", id: id + "-box", role: "group", "aria-label": field.label }, list, more,
      make("p", { class: "error", id: id + "-error" }), make("p", { class: "help", id: id + "-help" }, field.help), make("ul", { class: "notes", id: id + "-notes" }));
    const now = () => structuredClone(this.state.get(field.path) || []);
    const take = (films) => { this.state.set(field.path, films.length ? films : undefined); show(); this.changed(field.path, true); };
    const line = (film, k) => {
      const count = make("input", { type: "text", class: "short", inputmode: "numeric", "aria-label": `Number, kind ${k + 2}` }), which = make("select", { "aria-label": `Format, kind ${k + 2}` });
      const side = make("select", { "aria-label": `Emulsion, kind ${k + 2}` }, make("option", { value: "down" }, "emulsion down"), make("option", { value: "up" }, "emulsion up"));
      const away = make("button", { type: "button", "aria-label": `Take kind ${k + 2} away` }, "Remove");
      this.options(which, this.plan.rows.formats);
      count.value = film.count ?? 1; which.value = film.format; side.value = film.emulsion || "down";
      const put1 = (key, value) => { const films = now(); films[k][key] = value; take(films); };
      count.addEventListener("change", () => put1("count", numberOf(count.value.trim())));
      which.addEventListener("change", () => put1("format", which.value));
      side.addEventListener("change", () => put1("emulsion", side.value));
      away.addEventListener("click", () => take(now().filter((_, n) => n !== k)));
      return make("p", { class: "film-line" }, count, " ", which, " ", side, " ", away);
    };
    let drawn = "";
    const show = () => {
      const films = now(), text = JSON.stringify(films);
      if (text === drawn) return;
      drawn = text;
      list.replaceChildren(...films.map(line));
    };
    more.addEventListener("click", () => take([...now(), { format: "roll-6x9-single", count: 1 }]));
    this.fields.set(field.path, { ...field, input: more, box: made, show });
    return made;
  }

  field(field) {
    if (field.kind === "films") return this.films(field);
    const id = idOf(field.path), input = this.input(field, id);
    input.setAttribute("aria-describedby", `${id}-error${field.unit === "per m" ? ` ${id}-means` : ""} ${id}-help ${id}-notes`);
    if (this.plan.needed.includes(field.path)) input.setAttribute("aria-required", "true");
    const label = make("label", { for: id }, field.label + (field.unit ? " " : ""), ...(field.unit ? [make("span", { class: "unit" }, field.unit)] : []));
    const check = field.kind === "switch";
    const made = make("div", { class: check ? "field check" : "field", id: id + "-box" }, ...(check ? [input, label] : [label, input]),
      make("p", { class: "error", id: id + "-error" }), ...(field.unit === "per m" ? [make("p", { class: "means", id: id + "-means" })] : []), make("p", { class: "help", id: id + "-help" }, field.help), make("ul", { class: "notes", id: id + "-notes" }));
    this.fields.set(field.path, { ...field, input, box: made });
    const take = (done) => {
      const means = document.getElementById(id + "-means");
      if (means) put(means, "textContent", "");  // of the curl before
      this.state.set(field.path, this.read(field, input));
      if (done) this.follow(field.path);
      this.changed(field.path, done);
    };
    const whole = field.kind === "choice" || check;  // its first event says all: another card is taken once
    input.addEventListener("input", () => take(whole));
    if (!whole) input.addEventListener("change", () => take(true));
    return made;
  }

  input(field, id) {
    if (field.kind === "choice") {
      const made = make("select", { id });
      made.append(make("option", { value: "" }, this.plan.needed.includes(field.path) ? "choose" : ""));
      if (field.table) this.options(made, this.plan.rows[field.table]);
      else made.append(...field.choices.map(([value, words]) => make("option", { value }, words)));
      return made;
    }
    if (field.kind === "long") return make("textarea", { id, rows: 3, maxlength: 2000 });
    if (field.kind === "switch") return make("input", { id, type: "checkbox" });
    const numeric = field.kind === "number" || field.kind === "integer";
    return make("input", { id, type: "text", class: numeric ? "short" : null, inputmode: numeric ? "decimal" : null, maxlength: field.path === "title" ? 80 : 200 });
  }

  options(select, rows) {
    let group = null;
    for (const row of rows) {
      if (row.group && (!group || group.label !== row.group)) select.append(group = make("optgroup", { label: row.group }));
      (row.group ? group : select).append(make("option", { value: row.key }, row.name));
    }
  }

  read(field, input) {
    if (field.kind === "switch") return input.checked === field.default ? undefined : input.checked;
    const text = input.value.trim();
    if (text === "") return undefined;
    if (field.kind === "number" || field.kind === "integer") return numberOf(text);
    if (field.kind === "count") return text === "fill" ? "fill" : numberOf(text);
    if (field.kind === "list") return text.split(/[\s;]+|,\s+/).filter(Boolean).map(numberOf);
    return field.kind === "long" || field.kind === "text" ? input.value : text;
  }

  // a first choice brings the usual ones with it, where the user has not chosen
  follow(path) {
    const s = this.state, route = s.get("route"), bed = s.get("bed.name"), usual = this.plan.usual;
    if (path === "route" && route) {
      const row = this.rows.materials.get(s.get("material.name"));
      if (!row || !row.routes.includes(route)) s.set("material.name", usual.material[route]);
    }
    if ((path === "route" || path === "bed.name") && route === "print" && bed) {
      const now = s.get("printer.name");
      if (!now || now === this.fitted) s.set("printer.name", this.fitted = usual.printer[bed]);
    }
    this.show();
  }

  // the title as it will be: the user's own, or film and route
  title() {
    const film = this.rows.formats.get(this.state.get("film.format"));
    const words = this.plan.usual.route_words[this.state.get("route")];
    return this.state.get("title") ?? (film && words ? `${film.name}, ${words}` : undefined);
  }

  complete() {
    const values = structuredClone(this.state.values), title = this.title();
    if (title !== undefined) values.title = title;
    return values;
  }

  missing() { return this.plan.needed.filter((path) => this.state.get(path) === undefined).map((path) => this.fields.get(path).label.toLowerCase()); }

  show() {
    for (const [path, field] of this.fields) {
      const value = this.state.get(path), { input } = field;
      if (field.show) { field.show(); continue; }
      if (field.kind === "switch") { put(input, "checked", value ?? field.default); continue; }
      const text = value == null ? "" : Array.isArray(value) ? value.join("  ") : String(value);
      if (document.activeElement !== input || !this.equal(field, input, value)) put(input, "value", text);
      if (field.kind === "choice" && input.value !== text) {  // a name that no row has
        input.append(make("option", { value: text }, text));
        input.value = text;
      }
      if ("placeholder" in input) put(input, "placeholder", this.hint(path, field));
      if (field.kind === "choice" && !this.plan.needed.includes(path)) put(input.options[0], "textContent", this.open(path, field));
    }
    for (const name of this.optional) {
      const there = this.state.get(name) !== undefined;
      put(document.getElementById("t-" + name), "checked", there);
      put(document.getElementById("o-" + name), "hidden", !there);
    }
    this.only();
    if (this.pictured) this.pictured();
    this.marks();
    this.entitle();
  }

  // the document's name in the browser's own places
  entitle() {
    const title = this.title();
    document.title = title ? `${title} – holders` : "holders: a film holder for my flatbed";
  }

  equal(field, input, value) { return JSON.stringify(this.read(field, input)) === JSON.stringify(value); }

  // what counts while a field is left open
  hint(path, field) {
    if (path === "title") return this.title() || "";
    const [table, key] = path.split(".");
    const row = this.row(table);
    if (row && key in row && row[key] != null) return String(row[key]);
    return field.default == null || Array.isArray(field.default) ? "" : String(field.default);
  }

  open(path, field) {
    if (field.default != null) {
      const row = field.table && this.rows[field.table].get(field.default);
      const choice = field.choices && field.choices.find(([value]) => value === field.default);
      return `usual: ${row ? row.name : choice ? choice[1] : field.default}`;
    }
    const [table, key] = path.split("."), row = this.row(table);
    if (path === "base.name" && row) return `usual: ${row.name}`;
    if (!row || row[key] == null) return "none";
    const said = field.choices && field.choices.find(([value]) => value === row[key]);
    return `usual: ${said ? said[1] : row[key]}`;  // what the film's or the material's own row says
  }

  row(table) {
    const film = this.rows.formats.get(this.state.get("film.format"));
    const at = { bed: ["beds", "bed.name"], film: ["formats", "film.format"], material: ["materials", "material.name"], printer: ["printers", "printer.name"] }[table];
    if (table === "base") return this.rows.bases.get(this.state.get("base.name") ?? (film && film.base));
    return at && this.rows[at[0]].get(this.state.get(at[1]));
  }

  // only what has a meaning on the chosen route, unless it is set already
  only() {
    const route = this.state.get("route"), show = (id, on) => { const box = document.getElementById(id); if (box) put(box, "hidden", !on); };
    show(idOf("printer.name") + "-box", route === "print");
    show("d-printer", route === "print");
    show(idOf("material.sheets_mm") + "-box", route === "laser" || route === "knife");
    show("d-paper", route === "laser" || route === "knife");
    const strip = (this.row("film") || {}).frame_pitch_mm != null;
    for (const path of ["film.frames", "film.frame_pitch_mm"]) show(idOf(path) + "-box", strip || this.state.get(path) !== undefined);
    for (const option of this.fields.get("material.name").input.querySelectorAll("option[value]")) {
      const row = this.rows.materials.get(option.value);
      const away = Boolean(row && route && !row.routes.includes(route) && row.key !== this.state.get("material.name"));
      put(option, "hidden", away);
      put(option, "disabled", away);
    }
  }

  // the field a name speaks of, or the nearest there is
  find(name) {
    for (let path = name; path; path = path.includes(".") ? path.slice(0, path.lastIndexOf(".")) : "") {
      if (this.fields.has(path)) return { path, input: this.fields.get(path).input, label: this.fields.get(path).label };
    }
    const table = name.split(".")[0], box = document.getElementById("t-" + table);
    if (box) return { path: table, input: box, label: box.nextElementSibling.textContent };
    for (const [path, field] of this.fields) if (path.startsWith(table + ".")) return { path, input: field.input, label: field.label };
    return null;
  }

  // keys of the preset file, called as the form calls them; commands go, and what stands beside is named
  plain(text) { return text.replace(/ \((holders|--)[^)]*\)/g, "").replace("holders check lists the changes that gain, each tried on this holder", "the steps under “What would help” were tried on this holder").replace(/`?\b[a-z]+\.[a-z_]+\b`?/g, (m) => { const f = this.fields.get(m.replaceAll("`", "")); return f ? `“${f.label}”` : m; }); }

  goTo(name) {
    const found = this.find(name);
    if (!found) return;
    this.unfold(found.input);
    if (!found.input.offsetParent) found.input = found.input.closest(".field").querySelector("button") || found.input;  // a phone shows pictures alone
    this.goAt(found.input);
  }

  // a control: its station and all that is folded around it opened, focused, in sight
  goAt(input) {
    this.unfold(input);
    input.focus({ preventScroll: true });
    (input.closest(".drop") || input).scrollIntoView({ block: "center" });
  }

  unfold(input) {
    this.reveal(input);
    for (let box = input.closest("details"); box; box = box.parentElement.closest("details")) box.open = true;
  }

  // what each curl means for the film at hand, in a height that one can see
  curls(words) {
    for (const [path, text] of Object.entries(words)) put(document.getElementById(idOf(path) + "-means"), "textContent", `${text[0].toUpperCase()}${text.slice(1)}, laid on a table.`);
  }

  errors(list) {
    for (const [path, field] of this.fields) {
      const told = document.getElementById(idOf(path) + "-error");
      if (field.input.hasAttribute("aria-invalid")) field.input.removeAttribute("aria-invalid");
      put(told, "textContent", "");
    }
    const homeless = [];
    for (const error of list) {
      const found = this.find(error.field), place = found && document.getElementById(idOf(found.path) + "-error");
      if (!place) { homeless.push(error); continue; }
      found.input.setAttribute("aria-invalid", "true");
      place.textContent = `${error.value}: ${this.plain(error.way_out)}`;
    }
    this.marks();
    return homeless;
  }

  notes(findings, words) {
    for (const list of this.root.querySelectorAll(".notes:not(:empty)")) list.replaceChildren();
    for (const finding of findings) {
      const found = finding.field && this.find(finding.field), list = found && document.getElementById(idOf(found.path) + "-notes");
      if (list) list.append(make("li", { class: `note ${finding.level}` }, make("b", {}, finding.level === "stop" ? "Stop: " : "Warning: "), this.plain(words(finding))));
    }
    this.marks();
  }

  marks() {
    for (const part of this.root.querySelectorAll("details")) {
      const mark = part.querySelector(".mark"), set = this.changedIn(part);
      const words = [part.querySelector(".note.stop, .note.warn, [aria-invalid]") ? "look here" : "", set ? `${set} changed` : ""].filter(Boolean).join(", ");
      if (mark) put(mark, "textContent", words && ` – ${words}`);
    }
    this.marked();
  }

  // how many of the controls in a folded part the user has changed, in what a document or a proposal brought
  changedIn(part) {
    let count = 0;
    const turned = (name) => this.optional.includes(name) && (this.state.get(name) === undefined) !== (this.state.met(name) === undefined);
    for (const [path, { box, default: usual }] of this.fields) {
      if (!part.contains(box) || turned(path.split(".")[0])) continue;  // a part that was added or taken away counts once
      if (!same(this.state.get(path) ?? usual ?? null, this.state.met(path) ?? usual ?? null)) count += 1;
    }
    for (const name of this.optional) if (turned(name) && part.contains(document.getElementById("t-" + name))) count += 1;
    return count;
  }
}
