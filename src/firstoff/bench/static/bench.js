// The bench: one operation at a time, five taps at most. What is tapped is kept here until the server has it.
import { Pad } from "./pad.js";
import { Files } from "./files.js";
import { Queue, waiting } from "./queue.js";
import { Seen } from "./seen.js";
import { element, notTooBig, ready, send } from "./sending.js";

const cards = [...document.querySelectorAll("article.operation")];
const find = (selector) => document.querySelector(selector);
const taps = find("#taps"), stateLine = find("#state"), board = find("#board");
const sections = ["#pad", "#words", "#think", "#seen"];
const queue = new Queue();
const pad = cards.length ? new Pad(find("#pad")) : null;
const inch = board?.dataset.unit === "in";
const seen = cards.length ? new Seen(find("#seen"), inch) : null;
const AT = "firstoff.at";
let at = 0, last = null;

const card = () => cards[at];
const limits = () => JSON.parse(card().dataset.limits);

const ROWS = {
  run: [["ok", () => said("ok")], ["sang", () => said("sang")], ["slowed", () => said("slowed")],
        ["moved", () => said("moved")], ["other", () => show("other")]],
  other: [["squealed", () => said("squealed")], ["broke", () => said("broke")], ["changed feed to", feed],
          ["stop and think", think], ["more", () => show("more")]],
  more: [["not as planned", words], ["what you saw", see], ["measure", () => measure(0)],
         ["another operation", () => show("walk")], ["back", () => show("run")]],
  walk: [["one before", () => go(at - 1)], ["one after", () => go(at + 1)], ["by number", byNumber],
         ["a quick look", () => { location.href = "/ask"; }], ["back", () => show("run")]],
  noted: [["next", () => go(at + 1)], ["undo", undo], ["measure", () => measure(0)],
          ["what you saw", see], ["stop and think", think]],
  seen: [["keep", keepSeen], ["watts", watts], ["how it is held", () => show("held")],
         ["photo or sound", () => find("#file").click()], ["back", () => show("run")]],
  number: [["back", () => show("seen", "#seen")]],
  held: [["pulled, it held", () => pull("ok")], ["pulled, it moved", () => pull("moved")], ["lifted", lift],
         ["parallels", () => show("parallels")], ["back", see]],
  parallels: [...(board?.dataset.parallels || "").split(" ").map((word) => [word, () => give({ parallels: word }, `parallels ${word}`, note)]),
              ["back", () => show("held")]],
  pad: [["back", () => show("run")]],
  words: [["keep", keepWords], ["back", () => show("run")]],
  think: [["sang", () => said("sang")], ["slowed", () => said("slowed")], ["moved", () => said("moved")],
          ["broke", () => said("broke")], ["back", () => show("run")]],
  measured: [["next", () => go(at + 1)], ["measure again", () => measure(chosen)], ["another limit", () => measure(chosen + 1)],
             ["undo", undo], ["back", () => show("run")]],
};
let chosen = 0;

function show(row, section = "") {
  const among = taps.contains(document.activeElement);      // whoever goes by the keyboard stays among the taps
  const usable = ROWS[row].filter(([name]) => limits().length || !name.startsWith("measure"))
    .filter(([name]) => name !== "another limit" || limits().length > 1);
  taps.replaceChildren(...usable.map(([name, act]) => {
    const made = element("button", name, { class: "tap", type: "button" });
    made.addEventListener("click", act);
    return made;
  }));
  if (among && section !== "#words") taps.querySelector("button")?.focus();
  for (const one of sections) find(one).hidden = one !== section;
  card().hidden = section !== "";
  document.documentElement.dataset.row = row;
}

function go(to) {
  card().hidden = true;
  at = Math.min(Math.max(to, 0), cards.length - 1);
  localStorage.setItem(AT, card().dataset.key);
  const place = card().querySelector(".place");
  const drawing = document.querySelector(`[data-of="${CSS.escape(card().dataset.setting)}"]`);
  if (drawing) place.replaceChildren(drawing);
  document.title = card().querySelector("h1").textContent;
  last = null;
  seen.clear();
  show("run");
  tellWaiting({ many: waiting().length, trouble: "" });
}

function said(word) {
  last = queue.add({ subject: card().dataset.key, word });
  show("noted");
  note(`noted: ${word}`);
}

function undo() {
  if (!last) return;
  queue.add({ subject: last.subject, note: "undone at the bench", replaces: last.id });
  last = null;
  seen.clear();
  show("run");
  note("taken back");
}

function measure(which) {
  const all = limits();
  chosen = which % all.length;
  const limit = all[chosen];
  pad.open({
    title: limit.title, hint: [limit.size, limit.with].filter(Boolean).join(" · "),
    units: board.dataset.unit === "in" ? ["in", "mm"] : ["mm", "in"], close: () => show("run"),
    keep: (size) => keepSize(limit, size),
  });
  show("pad", "#pad");
}

async function keepSize(limit, size) {
  let found = null;
  try {
    found = await send("/decide", { limit: limit.name, size, instrument: limit.instrument });
  } catch (error) {
    if (error.answered) { pad.tell(error.message); return; }
  }
  last = queue.add({ subject: limit.name, size, ...(limit.instrument ? { instrument: limit.instrument } : {}) });
  if (found === null) {
    pad.tell(element("p", "Kept in this tablet. Whether it conforms is told when the connection is back: measure again then."));
  } else {
    pad.tell(element("b", `${found.decision}: ${found.off}`), element("p", found.u),
      ...found.explains.map((text) => element("p", text)),
      ...found.ways.map((way) => element("p", `${way.text}: ${way.minutes}, ${way.odds}`)));
  }
  find("#pad-keys").replaceChildren();
  show("measured", "#pad");
  note(`noted: ${size}`);
}

function feed() {
  pad.open({
    title: "Changed the feed to", hint: "as the machine shows it", units: inch ? ["in/min", "mm/min"] : ["mm/min", "in/min"],
    close: () => show("run"), keep: (text) => { tell(`changed feed to ${text}`); },
  });
  show("pad", "#pad");
}

function byNumber() {
  pad.open({
    title: "Operation", hint: "its number on the card", units: [""], close: () => show("run"),
    keep: (text) => {
      const to = cards.findIndex((one) => one.dataset.number === text);
      if (to < 0) pad.tell(`there is no operation ${text}`); else { show("run"); go(to); }
    },
  });
  show("pad", "#pad");
}

function words() {
  show("words", "#words");
  find("#words-text").focus();
}

function keepWords() {
  const text = find("#words-text").value.trim();
  if (!text) { note("some words first"); return; }
  find("#words-text").value = "";
  tell(text);
}

function tell(text) {
  last = queue.add({ subject: card().dataset.key, note: text });
  show("noted");
  note(`noted: ${text}`);
}

function see() {
  seen.begin(seen.tellsOf(last) ? last : null);
  show("seen", "#seen");
  seen.fields[0].focus();
}

// What is answered where it was given: kept, or wrong in the words of the server; without a connection it waits here.
let asked = null;
function give(values, told, wrong) {
  if (asked) return;
  const tap = queue.add({ subject: card().dataset.key, ...values });
  asked = { tap, told, wrong, row: document.documentElement.dataset.row };
}

function givenIs(refused) {
  const { tap, told, wrong, row } = asked;
  asked = null;
  const here = card().dataset.key === tap.subject && document.documentElement.dataset.row === row;
  if (refused) { if (here) wrong(refused); return here; }
  if (!here) return false;
  last = tap;
  if (seen.tellsOf(tap)) seen.begin(tap);
  show("noted");
  note(`noted: ${told}`);
  return true;
}

function keepSeen() {
  const values = seen.values();
  if (!Object.keys(values).length) { seen.tell("choose something first"); return; }
  give({ ...values, ...(seen.of ? { replaces: seen.of } : {}) }, seen.words(values), (text) => seen.tell(text));
}

function ask(title, hint, units, keep) {
  pad.open({ title, hint, units, keep, close: () => show("seen", "#seen") });
  show("number", "#pad");
}

function watts() {
  const how = seen.values(["feed", "depth", "scrap"]);
  ask("Watts while cutting", "as the meter shows them", ["W"], (cutting) => {
    ask("Watts running free", `of the spindle alone; ${cutting} while cutting`, ["W"], (idle) => {
      give({ watts: cutting, idle, ...how }, `${cutting} (${idle} running free)`, (text) => pad.tell(text));
    });
  });
}

function pull(word) {
  ask("Pulled at the clamped part", word === "ok" ? "with a scale; it held" : "with a scale; it moved", inch ? ["lb", "kg", "N"] : ["kg", "N"],
      (text) => give({ pull: text, word }, `${word === "ok" ? "held" : "moved"} at ${text}`, (wrong) => pad.tell(wrong)));
}

function lift() {
  ask("Lifted while it was tightened", "by an indicator on the part", inch ? ["in", "mm"] : ["mm", "in"],
      (text) => give({ lift: text }, `lifted ${text}`, (wrong) => pad.tell(wrong)));
}

function think() {
  const asides = [...card().querySelectorAll(".asides p")].map((one) => one.cloneNode(true));
  find("#think-said").replaceChildren(...asides);
  show("think", "#think");
}

let noted = "";
function note(text) {
  noted = text;
  tellWaiting({ many: waiting().length, trouble: "" });
}

function tellWaiting({ many, trouble }) {
  const kept = many ? `${many} kept in this tablet${trouble ? `: ${trouble}` : ""}` : "";
  stateLine.textContent = [noted, kept].filter(Boolean).join(" · ");
}

queue.addEventListener("changed", (event) => {
  if (asked && event.detail.trouble) givenIs("");
  tellWaiting(event.detail);
});
queue.addEventListener("answered", ({ detail }) => {
  const beside = asked?.tap.id === detail.tap.id && givenIs(detail.refused);
  if (detail.refused && !beside) { noted = `not kept: ${detail.refused}`; tellWaiting({ many: waiting().length, trouble: "" }); }
  document.documentElement.dataset.answered = detail.tap.id;
});

function tellFile(text, many) {
  note(text);
  document.documentElement.dataset.file = stateLine.textContent;
  document.documentElement.dataset.files = String(many);
}

const files = new Files(tellFile);

function sendFile(file) {
  try { notTooBig(file, find("#file")); } catch (error) { tellFile(`not kept: ${error.message}`, 0); return null; }
  note(`sending ${file.name}`);
  return files.add(card().dataset.key, file);
}

if (cards.length) {
  find("#file").addEventListener("change", (event) => {
    for (const file of event.target.files) sendFile(file);
    event.target.value = "";
  });
  document.addEventListener("keydown", (event) => {
    if (!find("#pad").hidden || event.target.closest("textarea, form")) return;
    if (event.key === "ArrowLeft") go(at - 1);
    if (event.key === "ArrowRight") go(at + 1);
  });
  seen.onNumber((wanted, field) => {
    const back = () => { show("seen", "#seen"); field.focus(); };
    pad.open({ ...wanted, close: back, keep: (text) => { wanted.keep(text); back(); } });
    show("number", "#pad");
  });
  seen.form.addEventListener("submit", (event) => { event.preventDefault(); keepSeen(); });
  const before = cards.findIndex((one) => one.dataset.key === localStorage.getItem(AT));
  const asked = cards.findIndex((one) => `#${one.id}` === location.hash);
  go(Math.max(asked >= 0 ? asked : before, 0));
  queue.flush();
  files.flush();
}
ready();
