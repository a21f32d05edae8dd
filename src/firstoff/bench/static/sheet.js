// A sheet behind the card: there at once, and what is drawn on it when it is reckoned.
import { drawing, element, ready, told } from "./sending.js";

const place = document.querySelector("#drawn"), words = place.querySelector("p");

async function draw() {
  try {
    const { svg, said } = await told(await fetch(place.dataset.from));
    const figure = element("figure", "", { class: "drawing", role: "img", "aria-label": place.dataset.title });
    if (svg) figure.append(drawing(svg));
    place.replaceChildren(...(svg ? [figure] : []), ...said.map((text) => element("p", text)));
  } catch (error) {
    words.className = "wrong";
    words.textContent = error.answered ? error.message : "no connection: go back to the card and come again";
  }
}
draw().then(ready, ready);
