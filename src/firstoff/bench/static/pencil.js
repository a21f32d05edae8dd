// What stands on the card is rubbed out and written anew where it stands; what was written outlives a reload.
import { element } from "./sending.js";

const lasting = `firstoff.draft ${document.title}`;

export function fieldOf(path) {
  return document.querySelector(`.number[data-path="${CSS.escape(path)}"]`);
}

export class Pencil {
  // `changed` is told near which place something was written.
  constructor(changed) {
    this.changed = changed;
    this.edits = new Map(Object.entries(JSON.parse(sessionStorage.getItem(lasting) || "{}")));
    for (const [path, value] of this.edits) this.mark(fieldOf(path), value);
    document.addEventListener("click", (event) => {
      const number = event.target.closest(".number");
      if (number) this.open(number);
    });
  }

  get size() { return this.edits.size; }
  all() { return Object.fromEntries(this.edits); }

  keep() {
    if (this.edits.size) sessionStorage.setItem(lasting, JSON.stringify(this.all()));
    else sessionStorage.removeItem(lasting);
  }

  set(path, value) { this.edits.set(path, value); this.keep(); this.mark(fieldOf(path), value); }
  delete(path) { this.edits.delete(path); this.keep(); if (fieldOf(path)) this.unmark(fieldOf(path)); }

  open(number) {
    const field = number.dataset.among ? this.choice(number) : this.line(number);
    let done = false, keyed = false;
    const finish = (keep) => {
      if (done) return;
      done = true;
      const value = field.value.trim();
      field.replaceWith(number);
      number.focus();
      if (keep && value !== this.valueOf(number)) this.write(number, value);
    };
    field.addEventListener("keydown", (key) => {
      keyed = key.key !== "Enter";
      if (key.key === "Enter") { key.preventDefault(); finish(true); }
      if (key.key === "Escape") finish(false);
    });
    field.addEventListener("pointerdown", () => { keyed = false; });
    if (number.dataset.among) field.addEventListener("change", () => { if (!keyed) finish(true); });
    field.addEventListener("blur", () => finish(true));
    number.replaceWith(field);
    field.focus();
    if (field.select) field.select();
  }

  line(number) {
    const field = element("input", "", { class: "number-field", "aria-label": number.dataset.label ?? number.getAttribute("aria-label"), autocomplete: "off" });
    field.value = this.valueOf(number);
    return field;
  }

  choice(number) {
    const from = document.querySelector(`[data-choices="${CSS.escape(number.dataset.among)}"]`);
    const field = element("select", "", { class: "number-field", "aria-label": number.getAttribute("aria-label") });
    const now = this.valueOf(number);
    field.append(...[...from.options].map((one) => one.cloneNode(true)));
    if (![...field.options].some((one) => one.value === now)) field.prepend(element("option", number.textContent, { value: now }));
    field.value = now;
    return field;
  }

  valueOf(number) {
    const { path } = number.dataset;
    return this.edits.has(path) ? this.edits.get(path) : number.dataset.now;
  }

  write(number, value) {
    const { path, now } = number.dataset;
    if (value === now) this.delete(path); else this.set(path, value);
    // a tolerance says both ends of a size: what was written for them before is rubbed out
    if (path.endsWith(".tolerance")) for (const end of ["low", "high"]) this.delete(path.replace(/tolerance$/, end));
    this.changed(number);
  }

  // The same draft as it will be written: both ends of a size are one tolerance.
  adopt(edits) {
    this.edits = new Map(Object.entries(edits));
    this.keep();
    for (const [path, value] of this.edits) this.mark(fieldOf(path), value);
  }

  // In pencil, as it was written or chosen; nothing at all is said, too.
  mark(number, value) {
    if (!number) return;
    const from = number.dataset.among && document.querySelector(`[data-choices="${CSS.escape(number.dataset.among)}"]`);
    const chosen = from && [...from.options].find((one) => one.value === value);
    this.say(number, chosen ? chosen.textContent : value || "left out");
  }

  say(number, text) {
    number.dataset.was ??= number.textContent;
    number.textContent = text;
    number.classList.add("draft");
    number.dataset.label ??= number.getAttribute("aria-label");
    number.setAttribute("aria-label", `${number.dataset.label}; in pencil: ${text}`);
  }

  unmark(number) {
    if (number.dataset.was !== undefined) number.textContent = number.dataset.was;
    if (number.dataset.label !== undefined) number.setAttribute("aria-label", number.dataset.label);
    delete number.dataset.was;
    delete number.dataset.label;
    number.classList.remove("draft");
  }

  // What else changes with it: the feed with the speed, the chance of the operation.
  follow({ written, said }) {
    for (const number of document.querySelectorAll(".number.draft")) if (!this.edits.has(number.dataset.path)) this.unmark(number);
    for (const [path, text] of Object.entries(written)) {
      const number = fieldOf(path);
      if (number && !this.edits.has(path)) this.say(number, text);
    }
    for (const line of document.querySelectorAll("[data-said]")) {
      line.dataset.was ??= line.textContent;
      const now = said[line.dataset.said];
      line.textContent = now ? `${now} · was ${line.dataset.was}` : line.dataset.was;
      line.classList.toggle("pencil", Boolean(now));
    }
  }

  rubOut() {
    this.edits.clear();
    this.keep();
    this.follow({ written: {}, said: {} });
  }
}
