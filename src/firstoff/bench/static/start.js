// A shop, a part, a route: what is typed is read by the server, and the drawing grows beside it.
import { id } from "./queue.js";
import { drawing, element, notTooBig, ready, send, shown, told } from "./sending.js";

const find = (selector) => document.querySelector(selector);
const lost = "no connection; nothing of what was typed is lost";
const part = find("#new-part"), lines = find("#part-lines"), seen = find("#seen"), understood = find("#understood");
const KEPT = "firstoff.sketch";
let model = "";

function wrong(form, error) {
  for (const old of form.querySelectorAll(".wrong")) old.remove();
  const field = error.where && form.elements[error.where.split(/[.,: ]/).pop()];
  const words = element("span", error.answered ? error.message : lost, { class: "wrong", role: "alert" });
  if (error.where === "model") find("#drop").append(words); else (field || form.querySelector(".answer")).after(words);
  if (field) field.focus();
  form.dataset.answered = "wrong";
}

function show(found) {
  if (found.svg) seen.replaceChildren(drawing(found.svg));
  const said = found.lines.slice(0, 1).map((text) => element("p", text));
  const mistake = found.wrong ? [element("p", `${found.line ? `line ${found.line}: ` : ""}${found.wrong}`, { class: "wrong" })] : [];
  understood.replaceChildren(...mistake, ...said);
  ["x", "y", "z"].forEach((axis, i) => {
    const field = part.elements[axis];
    if (found.stock[i] && (!field.value || field.value === field.dataset.offered)) field.value = field.dataset.offered = found.stock[i];
  });
}

// One question at a time; what was typed meanwhile is asked after it.
let asking = false, again = false, rest = 0;
async function grow() {
  if (asking) { again = true; return; }
  asking = true;
  document.documentElement.dataset.grown = "asking";
  const slow = setTimeout(() => {
    const words = element("p", "drawing it ", { class: "hint" }), stop = element("button", "stop drawing", { class: "tap", type: "button" });
    stop.addEventListener("click", () => send("/stop", {}));
    words.append(stop);
    understood.prepend(words);
  }, 1000);
  try {
    show(await send("/sketch", { lines: lines.value, units: part.dataset.units }));
  } catch (error) {
    understood.replaceChildren(element("p", error.answered ? error.message : lost, { class: "wrong" }));
  }
  clearTimeout(slow);
  asking = false;
  if (again) { again = false; grow(); } else document.documentElement.dataset.grown = lines.value;
}

lines.value = localStorage.getItem(KEPT) || "";
lines.addEventListener("input", () => {
  localStorage.setItem(KEPT, lines.value);
  model = "";
  clearTimeout(rest);
  rest = setTimeout(grow, 350);
});

async function drop(file) {
  for (const old of document.querySelectorAll("#drop .wrong")) old.remove();
  const words = element("p", `reading ${file.name}`), stop = element("button", "stop reading", { class: "tap", type: "button" });
  stop.addEventListener("click", () => send("/stop", {}));
  understood.replaceChildren(words, stop);
  const name = id();
  try {
    notTooBig(file, find("#model"));
    show(await shown(words, fetch(`/models/${name}?units=${part.dataset.units}&name=${encodeURIComponent(file.name)}`, { method: "PUT", body: file }).then(told)));
    model = name;
    lines.required = false;
    if (!part.elements.part.value) part.elements.part.value = file.name.toLowerCase().replace(/\.[^.]*$/, "").replace(/[^a-z0-9]+/g, "_").replace(/^[^a-z]+/, "");
  } catch (error) {
    understood.replaceChildren();
    wrong(part, Object.assign(error, { where: "model" }));
  }
  document.documentElement.dataset.dropped = file.name;
}
find("#model").addEventListener("change", (event) => { if (event.target.files[0]) drop(event.target.files[0]); });
addEventListener("dragover", (event) => event.preventDefault());
addEventListener("drop", (event) => { event.preventDefault(); if (event.dataTransfer.files[0]) drop(event.dataTransfer.files[0]); });

part.addEventListener("submit", async (event) => {
  event.preventDefault();
  for (const old of part.querySelectorAll(".wrong")) old.remove();
  const said = { units: part.dataset.units, ...Object.fromEntries(new FormData(part)) };
  const words = part.querySelector(".answer");
  words.textContent = "reading it";
  try {
    await send("/start/part", model ? { ...said, lines: "", model } : said);
    localStorage.removeItem(KEPT);
    location.reload();
  } catch (error) { words.textContent = ""; wrong(part, error); }
});

const shop = find("#new-shop");
if (shop) shop.addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    await send("/start/shop", Object.fromEntries(new FormData(shop)));
    location.reload();
  } catch (error) { wrong(shop, error); }
});

// What must come right and what goes together: each form by itself, and what stands there can be taken out.
for (const form of document.querySelectorAll("form.wanted")) {
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    for (const old of form.querySelectorAll(".wrong")) old.remove();
    const said = Object.fromEntries(new FormData(form));
    const what = form.dataset.what === "threads" && said.fit && !said.thread ? "ream" : form.dataset.what;
    for (const hidden of form.querySelectorAll("[data-kind][hidden]")) for (const field of hidden.querySelectorAll("[name]")) delete said[field.name];
    try {
      await send(`/start/wanted/${what}`, said);
      form.reset();
      location.reload();
    } catch (error) { wrong(form, error); }
  });
  const kind = form.elements.kind, fields = [...form.querySelectorAll("[data-kind]")];
  const fit = () => { for (const one of fields) one.hidden = !one.dataset.kind.split(" ").includes(kind.value); };
  if (fields.length) { kind.addEventListener("change", fit); fit(); }
}
for (const button of document.querySelectorAll("[data-out]")) button.addEventListener("click", async () => {
  try {
    await send(`/start/wanted/${button.dataset.what}`, { out: button.dataset.out });
    location.reload();
  } catch (error) { button.after(element("span", error.answered ? error.message : lost, { class: "wrong", role: "alert" })); }
});
for (const named of document.querySelectorAll(".named")) named.addEventListener("toggle", async () => {
  const figure = named.querySelector("figure");
  if (!named.open || figure.firstChild) return;
  const { svg } = await told(await fetch(`/drawing/${encodeURIComponent(named.dataset.part)}`));
  figure.replaceChildren(drawing(svg));
  named.dataset.drawn = "yes";
});

const plan = find("#plan");
if (plan) plan.addEventListener("click", async () => {
  const words = find("#doing"), stop = find("#stop");
  plan.disabled = true;
  stop.hidden = false;
  words.textContent = "planning";
  try {
    await shown(words, send("/plan", {}));
    location.href = "/";
  } catch (error) { words.textContent = error.answered ? error.message : lost; }
  plan.disabled = false;
  stop.hidden = true;
});
const stop = find("#stop");
if (stop) stop.addEventListener("click", () => send("/stop", {}));
if (lines.value) grow();
ready();
