// A sheet that only shows something.
import { ready } from "./sending.js";

for (const button of document.querySelectorAll("[data-print]")) button.addEventListener("click", () => print());
ready();
