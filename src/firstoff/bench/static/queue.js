// Taps that wait: kept in this browser until the server has them. Each has an id, so that sending twice keeps once.
import { send } from "./sending.js";

const KEY = "firstoff.taps";

export function id() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

export const waiting = () => JSON.parse(localStorage.getItem(KEY) || "[]");
const keep = (taps) => localStorage.setItem(KEY, JSON.stringify(taps));

export class Queue extends EventTarget {
  constructor() {
    super();
    this.sending = null;
    addEventListener("online", () => this.flush());
    setInterval(() => this.flush(), 2000);
  }

  add(tap) {
    const whole = { id: id(), when: new Date().toISOString(), ...tap };
    keep([...waiting(), whole]);
    this.tell();
    this.flush();
    return whole;
  }

  flush() {
    this.sending ??= this.round().finally(() => { this.sending = null; });
    return this.sending;
  }

  async round() {
    for (let taps = waiting(); taps.length; taps = waiting()) {
      let answers;
      try {
        ({ answers } = await send("/records", { taps: taps.slice(0, 50) }));
      } catch (error) {
        this.tell(error.answered ? error.message : "no connection");
        return;
      }
      keep(waiting().filter((tap) => !(tap.id in answers)));
      for (const tap of taps) {
        const answer = answers[tap.id];
        if (answer) this.dispatchEvent(new CustomEvent("answered", { detail: { tap, ...answer } }));
      }
      this.tell();
    }
  }

  tell(trouble = "") {
    const many = waiting().length;
    document.documentElement.dataset.waiting = String(many);
    this.dispatchEvent(new CustomEvent("changed", { detail: { many, trouble } }));
  }
}
