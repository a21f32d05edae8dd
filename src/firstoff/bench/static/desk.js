// The desk: what is ticked or written anew is a draft; the whole job is checked with it before it is inked in.
import { aloud, element, notTooBig, ready, send, shown, told } from "./sending.js";
import { Pencil, fieldOf } from "./pencil.js";
import { Turning } from "./turn.js";

const find = (selector) => document.querySelector(selector);
const inkwell = find("#inkwell"), draftPlace = find("#draft");
const pencil = new Pencil((near) => checkDraft(near));

// One check at a time: what is written meanwhile stops it, and all is checked with that, too.
let checking = false, again = null;
async function checkDraft(near) {
  document.documentElement.dataset.draft = "checking";
  if (checking) { again = near; send("/stop", {}).catch(() => {}); return; }
  for (const old of document.querySelectorAll(".wrong")) old.remove();
  if (!pencil.size) { rubOut(); return; }
  checking = true;
  const words = element("p", "Checking the whole job with the draft");
  inkwell.replaceChildren(words, stopTap());
  inkwell.hidden = false;
  aloud("Checking the whole job with the draft");
  let how = "checked";
  try {
    const found = await shown(words, send("/try", { edits: pencil.all() }));
    if (!again) showDraft(found);
  } catch (error) {
    how = "wrong";
    if (!again) tellWrong(error, near);
  }
  checking = false;
  if (again) { const next = again; again = null; checkDraft(next); } else document.documentElement.dataset.draft = how;
}

// Beside the place that it speaks of, else beside the one that was written last.
function tellWrong(error, near) {
  const text = error.answered ? error.message : "no connection; the draft is still here";
  const path = (error.where || "").split(", ").pop();
  (fieldOf(path) || near).after(element("span", text, { class: "wrong", role: "alert" }));
  draftPlace.hidden = true;              // what it said was of another draft
  offer(text);
}

function stopTap() {
  const made = element("button", "stop", { class: "tap" });
  made.addEventListener("click", () => send("/stop", {}));
  return made;
}

function clear() {
  draftPlace.hidden = inkwell.hidden = true;
  document.documentElement.dataset.draft = "none";
}

function showDraft(found) {
  const first = found.first
    ? `Then first to go: ${found.first.said} ${found.first.because}`
    : "Then nothing that is counted is likely to go.";
  const list = element("ul", "");
  list.append(...found.changed.slice(0, 12).map((text) => element("li", text)));
  const more = found.changed.length > 12 ? [element("p", `and ${found.changed.length - 12} more verdicts change`)] : [];
  const dont = found.dont.map((text) => element("p", `Don't start: ${text}`, { class: "dont" }));
  draftPlace.replaceChildren(
    element("h2", "In pencil"), ...dont, element("p", first, { class: "first" }),
    element("p", `Anything spoiled: ${found.spoiled}, was ${found.was_spoiled}. A part lost: ${found.lost}, was ${found.was_lost}. `
      + `${found.minutes === 0 ? "No change of time." : `${Math.abs(found.minutes)} min ${found.minutes > 0 ? "more" : "less"}.`}`),
    list, ...more,
  );
  draftPlace.hidden = false;
  pencil.adopt(found.edits);
  pencil.follow(found);
  aloud(`${first} Anything spoiled: ${found.spoiled}, was ${found.was_spoiled}. ${found.changed.length} verdicts change.`);
  offer(`${pencil.size} in pencil: anything spoiled ${found.spoiled}, a part lost ${found.lost}.`, true);
}

function offer(text, good = false) {
  const rub = element("button", "rub out", { class: "tap" });
  rub.addEventListener("click", rubOut);
  const ink = element("button", "ink in", { class: "tap", id: "ink" });
  ink.addEventListener("click", inkIn);
  inkwell.replaceChildren(element("p", text), rub, ...(good ? [ink] : []));
  inkwell.hidden = false;
}

function rubOut() {
  pencil.rubOut();
  for (const tick of document.querySelectorAll("#first input, #inspection input")) tick.checked = false;
  for (const old of document.querySelectorAll(".wrong, b.program")) old.remove();
  clear();
}

async function inkIn() {
  const words = element("p", "Inking in, and checking");
  inkwell.replaceChildren(words, stopTap());
  try {
    await shown(words, send("/ink", { edits: pencil.all() }));
    pencil.rubOut();
    location.reload();
  } catch (error) { offer(error.answered ? error.message : "no connection; the draft is still here", true); }
}

for (const tick of document.querySelectorAll("#first input, #inspection input")) {
  tick.addEventListener("change", () => {
    for (const [path, value] of Object.entries(JSON.parse(tick.dataset.edits))) {
      if (tick.checked) pencil.set(path, value); else pencil.delete(path);
    }
    checkDraft(tick.closest("label"));
  });
}

const turning = new Turning(find("#solid"), (face) => {
  const line = find("#touched");
  const numbers = face.operations;
  for (const old of document.querySelectorAll(".turned")) old.classList.remove("turned");
  if (!numbers.length) { line.textContent = `No operation of the route makes face ${face.number}: it stays as the stock has it.`; return; }
  const last = numbers[numbers.length - 1];
  const card = find(`#op-${last}`);
  line.replaceChildren("Made by ", ...numbers.flatMap((number, i) => [i ? ", " : "", element("a", String(number), { href: `#op-${number}` })]), ".");
  const tells = (head, texts) => (texts.length ? [element("br", ""), `${head}: ${texts.join("; ")}.`] : []);
  line.append(...tells("Its limits", face.limits), ...tells("What endangers it", face.dangers));
  card.classList.add("turned");
  card.scrollIntoView({ block: "center" });
});

async function openPart(button) {
  for (const one of document.querySelectorAll("[data-part][aria-pressed]")) one.setAttribute("aria-pressed", String(one === button));
  turning.open(await told(await fetch(`/turn/${encodeURIComponent(button.dataset.part)}`)));
  find("#solid").dataset.part = button.dataset.part;
}
// A program is put to an operation: kept in the job's folder, and named in pencil like any other change.
for (const field of document.querySelectorAll("input[data-program]")) {
  field.addEventListener("change", async () => {
    const [file] = field.files;
    if (!file) return;
    const place = field.closest("p");
    for (const old of place.querySelectorAll(".wrong, .program")) old.remove();
    try {
      notTooBig(file, field);
      const way = `/programs/${encodeURIComponent(field.dataset.program)}?name=${encodeURIComponent(file.name)}`;
      const { program } = await told(await fetch(way, { method: "PUT", body: file }));
      pencil.set(`operations.${field.dataset.program}.program`, program);
      place.append(element("b", ` ${program}`, { class: "program" }));
      await checkDraft(place);
    } catch (error) {
      place.append(element("span", error.answered ? error.message : "no connection: choose it again later", { class: "wrong", role: "alert" }));
    }
    field.value = "";
  });
}
for (const button of document.querySelectorAll("[data-print]")) button.addEventListener("click", () => print());

const buttons = [...document.querySelectorAll("button[data-part]")];
for (const button of buttons) button.addEventListener("click", () => openPart(button));

const pair = find("#pair");
if (pair) pair.addEventListener("click", async () => {
  const { code, address } = await send("/code", {});
  find("#paired").textContent = `On the tablet: ${address}/pair/${code} (once)`;
});

if (pencil.size) checkDraft(find(".number.draft") || find("#first"));
if (buttons.length) openPart(buttons[0]).then(ready, ready); else ready();
