// The first page: asks how far the job is, and goes on when it is read.
import { element, ready, send, state } from "./sending.js";

const doing = document.querySelector("#doing"), share = document.querySelector("#share");
const trouble = document.querySelector("#trouble");

async function look() {
  const now = await state("?begin=yes");
  if (!now.job) { location.replace("/start"); return; }
  if (now.ready) { location.reload(); return; }
  if (now.trouble) { tell(now.trouble); return; }
  if (now.doing) {
    doing.textContent = now.doing.words;
    if (now.doing.share > 0) share.value = now.doing.share;
  }
  setTimeout(look, 300);
}

function tell(text) {
  doing.textContent = "The job cannot be shown yet.";
  share.hidden = true;
  document.querySelector("#stop").hidden = true;
  trouble.replaceChildren(element("p", text));
  trouble.hidden = false;
  document.querySelector("#again").hidden = false;
  document.querySelector("#plan").hidden = !text.includes("no route yet");
}

async function again(path, words) {
  trouble.hidden = true;
  for (const id of ["#again", "#plan"]) document.querySelector(id).hidden = true;
  document.querySelector("#stop").hidden = share.hidden = false;
  doing.textContent = words;
  const follow = setInterval(async () => {
    const now = await state();
    if (now.doing) doing.textContent = now.doing.words;
  }, 400);
  try { await send(path, {}); location.reload(); } catch (error) { tell(error.message); } finally { clearInterval(follow); }
}

document.querySelector("#stop").addEventListener("click", () => send("/stop", {}));
document.querySelector("#again").addEventListener("click", () => again("/check", "Reading the job"));
document.querySelector("#plan").addEventListener("click", () => again("/plan", "Planning a route"));
ready();
look();
