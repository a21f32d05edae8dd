// The shop and the mill's hour: what is asked of the server, and its answer below.
import { plain } from "./heard.js";
import { id } from "./queue.js";
import { element, notTooBig, ready, send, shown, told } from "./sending.js";

const lost = "no connection; nothing of what was typed is lost";

for (const button of document.querySelectorAll("[data-post]")) {
  const place = button.closest("section").querySelector(".answer");
  button.addEventListener("click", async () => {
    button.disabled = true;
    const words = element("p", "one moment");
    const stop = element("button", "stop", { class: "tap", type: "button" });
    stop.addEventListener("click", () => send("/stop", {}));
    place.replaceChildren(words, stop);
    try {
      const { lines } = await shown(words, send(button.dataset.post, {}));
      const anew = button.dataset.post === "/learn" ? [element("a", "show the figures as they are now", { href: "/shop", class: "more" })] : [];
      place.replaceChildren(...lines.map((text) => element("p", text)), ...anew);
    } catch (error) {
      place.replaceChildren(element("p", error.answered ? error.message : lost, { class: "wrong", role: "alert" }));
    } finally {
      button.disabled = false;
      place.dataset.answered = "yes";
    }
  });
}

const form = document.querySelector(".readings");

// A recording is sent as soon as it is chosen; its id goes with the readings.
const recording = document.querySelector("#recording"), listened = document.querySelector("#listened");
let recorded = "";
if (recording) recording.addEventListener("change", async () => {
  const [file] = recording.files;
  recorded = "";
  for (const old of form.querySelectorAll(".wrong")) old.remove();
  if (!file) { listened.textContent = ""; return; }
  listened.textContent = `sending ${file.name}`;
  const name = id();
  try {
    notTooBig(file, recording);
    const sound = await plain(file);
    await told(await fetch(`/recordings/${name}?name=${encodeURIComponent(file.name)}`, { method: "PUT", body: sound }));
    recorded = name;
    listened.textContent = `${file.name} is here`;
  } catch (error) {
    listened.textContent = "";
    recording.after(element("span", error.answered ? error.message : lost, { class: "wrong", role: "alert" }));
  }
  form.dataset.recorded = recorded || "wrong";
});
async function keep(more) {
  const place = form.querySelector(".answer");
  for (const old of form.querySelectorAll(".wrong")) old.remove();
  const words = element("p", "one moment");
  const stop = element("button", "stop", { class: "tap", type: "button" });
  stop.addEventListener("click", () => send("/stop", {}));
  place.replaceChildren(words, stop);
  try {
    const said = { ...Object.fromEntries(new FormData(form)), machine: form.dataset.on, ...(recorded ? { recording: recorded } : {}), ...more };
    const { doubts, lines } = await shown(words, send(`/hour/${form.dataset.test}`, said));
    place.replaceChildren(...[...doubts, ...lines].map((text) => element("p", text)));
    if (doubts.length) {
      const anyway = element("button", "keep it as it is", { class: "tap", type: "button" });
      anyway.addEventListener("click", () => keep({ keep: "yes" }));
      place.append(anyway);
    }
  } catch (error) {
    const key = (error.where || "").split(".").pop();
    const field = key && (key === "file" ? recording : form.elements[key]);
    place.replaceChildren();
    (field || place).after(element("span", error.answered ? error.message : lost, { class: "wrong", role: "alert" }));
    if (field) field.focus();
  }
  form.dataset.answered = "yes";
}
if (form) form.addEventListener("submit", (event) => { event.preventDefault(); keep({}); });
ready();
