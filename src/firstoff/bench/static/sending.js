// Talking to the server of these pages: objects out, objects in, and no answer without a word.

export async function send(path, value) {
  const answer = await fetch(path, {
    method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(value),
  });
  return told(answer);
}

export async function told(answer) {
  const kind = answer.headers.get("content-type") || "";
  const value = kind.startsWith("application/json") ? await answer.json() : {};
  if (answer.ok) return value;
  const error = new Error([value.wrong || `the server says ${answer.status}`, value.right ? `(${value.right})` : ""].join(" ").trim());
  error.answered = true;
  error.where = value.where || "";
  throw error;
}

// An error that is told as it stands, as if the server had said it.
export const refused = (words) => Object.assign(new Error(words), { answered: true });

// What the server would not take is refused before it is sent: of a connection that it ends nothing is told here.
export function notTooBig(file, field) {
  const most = Number(field.dataset.most), mega = (bytes) => `${(bytes / 2 ** 20).toPrecision(3)} MB`;
  if (file.size > most) throw refused(`${file.name} has ${mega(file.size)}: at most ${mega(most)}`);
}

export function element(name, text, attributes = {}) {
  const made = document.createElement(name);
  made.textContent = text;
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}

// A drawing that came as text, to be put into the page.
export function drawing(svg) {
  return document.importNode(new DOMParser().parseFromString(svg, "image/svg+xml").documentElement, true);
}

// Said by a screen reader when it changes; there from the beginning, as nothing that appears is heard.
export function aloud(text) { document.querySelector("#aloud").textContent = text; }

export async function state(how = "") {
  return told(await fetch(`/state${how}`, { headers: { accept: "application/json" } }));
}

// Shows how far a long thing is, in words, while `work` goes on.
export async function shown(place, work) {
  let going = true;
  const look = async () => {
    while (going) {
      try {
        const { doing } = await state();
        if (going && doing && doing.seconds > 1) place.textContent = doing.words;
      } catch { /* the work itself tells what is wrong */ }
      await new Promise((done) => setTimeout(done, 500));
    }
  };
  look();
  try { return await work; } finally { going = false; }
}

export const ready = () => { document.documentElement.dataset.ready = "yes"; };
