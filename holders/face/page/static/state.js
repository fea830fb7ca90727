// What the form holds: nested plain values, only what was set; and every earlier state, for undo.
const OPTIONAL = ["feet", "lid", "cover", "carrier", "channel", "wet", "glasses", "passes", "roll"];
const KEPT = "holders-form";
export const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

export class State {
  constructor() {
    this.values = {};
    this.past = ["{}"];
    this.at = 0;
    this.fresh = true;
    try {
      const kept = sessionStorage.getItem(KEPT);
      this.fresh = kept === null;
      this.values = JSON.parse(kept) || {};
    } catch { /* nothing kept */ }
    this.past = [JSON.stringify(this.values)];
  }

  get(path) { return path.split(".").reduce((here, name) => (here == null ? undefined : here[name]), this.values); }

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
    this.at = 0;
  }

  replace(values) { this.values = structuredClone(values); this.keep(); this.commit(); }

  keep() { try { sessionStorage.setItem(KEPT, JSON.stringify(this.values)); } catch { /* private windows */ } }

  commit() {
    const now = JSON.stringify(this.values);
    if (now === this.past[this.at]) return false;
    this.past = [...this.past.slice(Math.max(0, this.at - 200), this.at + 1), now];
    this.at = this.past.length - 1;
    return true;
  }

  step(by) {
    this.commit();
    const to = this.at + by;
    if (to < 0 || to >= this.past.length) return false;
    this.at = to;
    this.values = JSON.parse(this.past[to]);
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
