// What someone is writing, kept in this browser and nowhere else.

const KEY = "ordinary-point-file";

export class Draft {
  name = "worksheet.md";
  text = "";
  /** The shipped file it came from, or nothing. */
  from = "";
  /** A text with changes that was put aside for this one. */
  before = undefined;
  #saved = "";

  get unsaved() {
    return this.text !== this.#saved;
  }

  /** Another text takes its place; changes that are not saved are put aside. */
  put(name, text, from) {
    if (this.unsaved) this.before = { name: this.name, text: this.text, from: this.from };
    Object.assign(this, { name, text, from });
    this.#saved = text;
  }

  saved() {
    this.#saved = this.text;
  }

  /** There is no file that holds it. */
  touched() {
    this.#saved = undefined;
  }

  /** Keeps everything; says whether the browser has taken it. */
  keep() {
    const { name, text, from, before } = this;
    try {
      // One write: either all of it is kept or what was kept before.
      localStorage.setItem(KEY, JSON.stringify({ name, text, from, before, saved: this.#saved === text ? true : this.#saved }));
      return true;
    } catch {
      return false;
    }
  }

  /** Takes back what was kept; says whether there was any. */
  recall() {
    try {
      const kept = JSON.parse(localStorage.getItem(KEY));
      if (typeof kept?.text !== "string" || typeof kept.name !== "string") return false;
      const { name, text, from, before, saved } = kept;
      Object.assign(this, { name, text, from: String(from ?? "") });
      if (typeof before?.text === "string") this.before = { name: String(before.name), text: before.text, from: String(before.from ?? "") };
      this.#saved = saved === true ? text : typeof saved === "string" ? saved : undefined;
      return true;
    } catch {
      return false;
    }
  }
}
