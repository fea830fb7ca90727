// What the form holds: nested plain values, only what was set; and every earlier state, for undo.
export const OPTIONAL = ["feet", "lid", "cover", "carrier", "channel", "wet", "glasses", "passes", "roll", "bars"];
const KEPT = "holders-form", KEPT_HAND = "holders-by-hand", KEPT_BASE = "holders-base";
export const FILE = "*";  // stands among what was set by hand: all of it, in a preset that was opened
// what belongs to the workshop and the film at hand, not to this holder: it stays whatever the holder becomes
const OF_WORKSHOP = ["title", "note", "bed", "base", "material", "printer", "paper", "room", "coupon", "film", "route"];
const leaves = (values) => Object.entries(values).flatMap(([table, inner]) => (inner && typeof inner === "object" && !Array.isArray(inner) ? Object.keys(inner).map((key) => `${table}.${key}`) : [table]));
const at = (values, path) => path.split(".").reduce((here, name) => (here == null ? undefined : here[name]), values);
export const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

export class State {
  constructor() {
    this.values = {};
    this.past = ["{}"];
    this.at = 0;
    this.fresh = true;
    this.hand = new Set();  // keys that the user has set, and parts that were added or taken away
    try {
      const kept = sessionStorage.getItem(KEPT);
      this.fresh = kept === null;
      this.values = JSON.parse(kept) || {};
      this.hand = new Set(JSON.parse(sessionStorage.getItem(KEPT_HAND) || "[]"));
    } catch { /* nothing kept */ }
    this.base = this.values;  // what a document or a proposal brought: the rest the user has changed
    try { this.base = JSON.parse(sessionStorage.getItem(KEPT_BASE)) || this.base; } catch { /* nothing kept */ }
    this.past = [JSON.stringify(this.values)];
    this.hands = [[...this.hand]];
    this.bases = [this.base];
  }

  // a key that the user has set; an empty one is left open again, and a part taken away takes its keys along
  byHand(path) {
    const given = this.get(path) !== undefined;
    for (const other of [...this.hand]) if (other.startsWith(path + ".")) this.hand.delete(other);
    if (given || OPTIONAL.includes(path)) this.hand.add(path); else this.hand.delete(path);
    this.keep();
  }

  // what the user has set of the holder itself
  get own() { return [...this.hand].filter((path) => path === FILE || !OF_WORKSHOP.includes(path.split(".")[0])); }

  // of a preset that was opened all is the user's own
  ownAll() {
    this.hand = new Set([FILE, ...leaves(this.values).filter((path) => OF_WORKSHOP.includes(path.split(".")[0]))]);
    this.hands[this.at] = [...this.hand];
    this.keep();
  }

  // another holder than the example it began as: its name, its note and the scanner it was measured on are not the user's
  dropExample() {
    for (const key of ["title", "note"]) if (!this.hand.has(key)) this.set(key, undefined);
    const gone = Object.keys(this.values.bed || {}).map((key) => `bed.${key}`).filter((path) => path !== "bed.name" && !this.hand.has(path));
    for (const path of gone) this.set(path, undefined);
    return gone;
  }

  // what the film before had of its own goes with it
  dropFilm() {
    const gone = Object.keys(this.values.film || {}).filter((key) => !["format", "emulsion"].includes(key)).map((key) => `film.${key}`);
    for (const path of gone) { this.set(path, undefined); this.hand.delete(path); }
    return [...gone, ...this.dropFrame()];
  }

  // the frame's size that was proposed for the film and number before goes with them; one set by hand or opened stays
  dropFrame() {
    if (this.hand.has(FILE)) return [];
    const gone = ["layout.outer_width_mm", "layout.outer_length_mm"].filter((path) => this.get(path) !== undefined && !this.hand.has(path));
    for (const path of gone) this.set(path, undefined);
    return gone;
  }

  get(path) { return at(this.values, path); }

  // the value that the user met there
  met(path) { return at(this.base, path); }

  // a document or a proposal has brought what stands here; what was set by hand is still compared with what stood there before
  bring() {
    const base = structuredClone(this.values);
    for (const path of this.hand) {
      const [table, key] = path.split("."), before = structuredClone(this.met(path));
      if (key === undefined || path === FILE) { if (path !== FILE) base[table] = before; } else (base[table] ??= {})[key] = before;
    }
    this.base = this.bases[this.at] = base;
    this.keep();
  }

  set(path, value) {
    const names = path.split(".");
    const key = names.pop();
    let here = this.values;
    for (const name of names) here = here[name] ??= {};
    if (value === undefined) delete here[key]; else here[key] = value;
    for (const name of names) {  // an empty table says nothing, but feet, a lid and the like are there or not
      if (!OPTIONAL.includes(name) && this.values[name] && !Object.keys(this.values[name]).length) delete this.values[name];
    }
    this.keep();
  }

  // what a page that was not open before shows first: no change of the user's, so there is nothing to undo
  begin(values) {
    this.values = structuredClone(values);
    this.past = [JSON.stringify(this.values)];
    this.hands = [[]];
    this.base = structuredClone(values);
    this.bases = [this.base];
    this.at = 0;
  }

  // `same`: as part of the change before, so that one step back undoes both
  replace(values, same = false) {
    this.values = structuredClone(values);
    if (same) { this.past[this.at] = JSON.stringify(this.values); this.hands[this.at] = [...this.hand]; } else this.commit();
    this.keep();
  }

  keep() {
    try {
      sessionStorage.setItem(KEPT, JSON.stringify(this.values));
      sessionStorage.setItem(KEPT_HAND, JSON.stringify([...this.hand]));
      sessionStorage.setItem(KEPT_BASE, JSON.stringify(this.base));
    } catch { /* private windows */ }
  }

  commit() {
    const now = JSON.stringify(this.values);
    if (now === this.past[this.at]) return false;
    const kept = (list, newest) => [...list.slice(Math.max(0, this.at - 200), this.at + 1), newest];
    this.hands = kept(this.hands, [...this.hand]);
    this.bases = kept(this.bases, this.base);
    this.past = kept(this.past, now);
    this.at = this.past.length - 1;
    return true;
  }

  step(by) {
    this.commit();
    const to = this.at + by;
    if (to < 0 || to >= this.past.length) return false;
    this.at = to;
    this.values = JSON.parse(this.past[to]);
    this.hand = new Set(this.hands[to]);
    this.base = this.bases[to];
    this.keep();
    return true;
  }

  // what stands now was drawn; and by how many steps back the newest that was lies
  drew() { this.drawn = JSON.stringify(this.values); }

  toDrawn() {
    this.commit();
    const at = this.at ? this.past.lastIndexOf(this.drawn, this.at - 1) : 0;
    return at < 0 ? 1 : this.at - at;
  }

  get canUndo() { return this.at > 0 || JSON.stringify(this.values) !== this.past[this.at]; }
  get canRedo() { return this.at < this.past.length - 1; }
}
