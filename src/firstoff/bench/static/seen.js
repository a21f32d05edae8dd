// What was seen of a cut, as a form that one hand fills in: lists to choose from, the number pad for numbers.
import { element } from "./sending.js";

const PADS = {
  feed: { title: "Feed while it was cut", hint: "of the feed on the card, as the override shows it", units: () => ["%"] },
  depth: { title: "Depth of the cut", hint: "where it was not the card's", units: (inch) => (inch ? ["in", "mm"] : ["mm", "in"]) },
};

export class Seen {
  constructor(root, inch) {
    Object.assign(this, { root, inch, of: "" });
    this.form = root.querySelector("form");
    this.fields = [...this.form.querySelectorAll("[name]")];
    this.said = root.querySelector("#seen-said");
    for (const field of this.fields) field.addEventListener("change", () => this.said.replaceChildren());
  }

  // Calls `open` with what the number pad is to ask, when one of the numbers is touched.
  onNumber(open) {
    for (const field of this.fields.filter((one) => one.tagName === "BUTTON")) {
      const { title, hint, units } = PADS[field.name];
      field.addEventListener("click", () => open({
        title, hint: `${hint}; clear and keep: as on the card`, units: units(this.inch), empty: true,
        keep: (text) => { this.set(field, text); this.said.replaceChildren(); },
      }, field));
    }
  }

  set(field, text) {
    if (field.tagName === "BUTTON") field.textContent = text || field.dataset.none;
    field.dataset.now = text;
    field.value = text;
  }

  // Filled in with what was noted last of this cut, if anything was; else as it was left.
  begin(last) {
    if (!last || this.of === last.id) return;
    for (const field of this.fields) this.set(field, last[field.name] || "");
    this.of = last.id;
    this.said.replaceChildren();
    this.title();
  }

  clear() {
    this.of = "";
    for (const field of this.fields) this.set(field, "");
    this.said.replaceChildren();
    this.title();
  }

  title() { this.root.querySelector("#seen-of").textContent = this.of ? "Added to what you noted just now." : ""; }

  values(names = null) {
    const all = this.fields.map((one) => [one.name, one.tagName === "BUTTON" ? one.dataset.now || "" : one.value.trim()]);
    return Object.fromEntries(all.filter(([name, text]) => text && (!names || names.includes(name))));
  }

  // Whether a tap tells how a cut went, so that what was seen of it can be added.
  tellsOf(tap) {
    return Boolean(tap) && !tap.pull && !tap.watts && this.fields.some((one) => one.tagName === "SELECT" && one.name !== "scrap" && tap[one.name]);
  }

  words(tap) {
    const label = (name) => this.form.querySelector(`label[for="seen-${name}"]`).textContent;
    const told = { word: (text) => text, feed: (text) => `at ${text} of the feed`, depth: (text) => `${text} deep`, scrap: () => "in scrap", note: (text) => text };
    return this.fields.filter((one) => tap[one.name]).map(({ name }) => (told[name] ? told[name](tap[name]) : `${label(name)} ${tap[name]}`)).join(", ");
  }

  tell(text) { this.said.replaceChildren(element("p", text, { class: "wrong" })); }
}
