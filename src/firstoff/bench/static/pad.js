// The number pad: sign, comma or point as the person writes it, mm or inch. Nothing is sent before 'keep'.
import { element } from "./sending.js";

export const POINT = (1.1).toLocaleString().includes(",") ? "," : ".";
const KEYS = ["7", "8", "9", "⌫", "4", "5", "6", "±", "1", "2", "3", "unit", POINT, "0", "clear", "keep"];
const LONGEST = 10;

export class Pad {
  constructor(root) {
    this.root = root;
    this.shown = root.querySelector("#pad-shown");
    this.said = root.querySelector("#pad-said");
    this.keys = root.querySelector("#pad-keys");
    document.addEventListener("keydown", (event) => this.typed(event));
  }

  open({ title, hint, units, keep, close, empty = false }) {
    Object.assign(this, { units, keep, close, empty, unit: 0, digits: "", minus: false });
    this.root.querySelector("#pad-title").textContent = title;
    this.root.querySelector("#pad-hint").textContent = hint;
    this.said.replaceChildren();
    this.keys.replaceChildren(...KEYS.map((key) => this.key(key)));
    this.show();
  }

  key(name) {
    const label = { unit: this.units[0] || " ", "⌫": "⌫" }[name] || name;
    const made = element("button", label, { class: "tap", type: "button", "data-key": name });
    if (name === "⌫") made.setAttribute("aria-label", "rub out the last");
    if (name === "±") made.setAttribute("aria-label", "change the sign");
    if (name === "unit") made.disabled = this.units.length < 2;
    made.addEventListener("click", () => this.press(name));
    return made;
  }

  press(name) {
    if (/^\d$/.test(name) && this.digits.length < LONGEST) this.digits += name;
    else if (name === POINT && !this.digits.includes(POINT)) this.digits = `${this.digits || "0"}${POINT}`;
    else if (name === "⌫") this.digits = this.digits.slice(0, -1);
    else if (name === "±") this.minus = !this.minus;
    else if (name === "clear") Object.assign(this, { digits: "", minus: false });
    else if (name === "unit") this.unit = (this.unit + 1) % this.units.length;
    else if (name === "keep") { this.keepIt(); return; }
    this.show();
  }

  typed(event) {
    if (this.root.hidden || event.ctrlKey || event.metaKey || event.altKey) return;
    const name = { ",": POINT, ".": POINT, Backspace: "⌫", "-": "±" }[event.key] || event.key;
    if (event.key === "Escape") this.close();
    else if (event.key === "Enter" && event.target.tagName !== "BUTTON") this.keepIt();
    else if (/^\d$/.test(name) || ["⌫", "±", POINT].includes(name)) this.press(name);
    else return;
    event.preventDefault();
  }

  keepIt() {
    if (!/\d/.test(this.digits)) { if (this.empty) this.keep(""); else this.tell("a number first"); return; }
    this.keep(this.text());
  }

  text() {
    const number = `${this.minus ? "-" : ""}${this.digits.replace(POINT, ".").replace(/\.$/, "")}`;
    return `${number} ${this.units[this.unit] || ""}`.trim();
  }

  show() {
    this.shown.textContent = `${this.minus ? "−" : ""}${this.digits || "0"} ${this.units[this.unit] || ""}`;
    const unit = this.keys.querySelector('[data-key="unit"]');
    if (unit) {
      unit.textContent = this.units[this.unit] || " ";
      unit.setAttribute("aria-label", `unit: ${this.units[this.unit] || "none"}`);
    }
  }

  tell(...said) {
    this.said.replaceChildren(...said.map((one) => (typeof one === "string" ? element("p", one, { class: "wrong" }) : one)));
  }
}
