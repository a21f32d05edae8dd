// Sentences with blanks: what stands in them goes to the server, its answer stands below.
import { element, ready, send } from "./sending.js";

for (const form of document.querySelectorAll(".blanks")) {
  const answer = form.querySelector(".answer");
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    for (const old of form.querySelectorAll(".wrong")) old.remove();
    answer.textContent = "…";
    try {
      const { lines } = await send(`/ask/${form.dataset.what}`, Object.fromEntries(new FormData(form)));
      answer.replaceChildren(...lines.map((line) => element("p", line.trimStart(), line.startsWith("  ") ? { class: "under" } : {})));
    } catch (error) {
      answer.textContent = "";
      const field = [...form.elements].find((one) => one.name && error.where && error.where.replace("--", "").startsWith(one.name));
      (field || answer).after(element("span", error.answered ? error.message : "no connection; nothing is lost", { class: "wrong", role: "alert" }));
      field?.closest("details")?.setAttribute("open", "");
      if (field) field.focus();
    }
    form.dataset.answered = "yes";
    answer.scrollIntoView({ block: "nearest" });
  });
}
ready();
