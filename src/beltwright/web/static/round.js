// The round on the phone: takes its pages along, and puts quick notes into the outbox.
import { add, mark } from "./outbox.js";
import { NOT_WHOLE, sendNow, takeAlong } from "./notes.js";

const form = document.querySelector("form[data-stop]");
form?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const said = form.querySelector("[data-kept]");
  const by = form.elements.by.value.trim().split(/\s+/).join(" ");
  const ticked = [...form.querySelectorAll('[name^="see-"]:checked')];
  if (!ticked.length) { said.textContent = "Tick what you saw, heard or smelt; “nothing wrong” is a note too."; return; }
  try {
    await add(ticked.map((box) => ({ id: mark(), kind: "reading", at: new Date().toISOString(), by, tag: form.dataset.tag,
      kind_of: "seen", state: "running", values: { what: box.value }, job: null, words: form.elements.words.value.trim(), files: [] })));
  } catch (problem) {
    said.textContent = problem.message;
    return;
  }
  sendNow();
  location.assign(form.dataset.after);
});

const round = document.querySelector("[data-round]");
if (round) {
  const stops = [...document.querySelectorAll(".stops a")].flatMap((stop) => [stop.getAttribute("href"), stop.dataset.drive]);
  const pages = [...new Set([location.pathname + location.search, ...stops])];
  if (!(await takeAlong(pages))) round.append(` ${NOT_WHOLE}`);
}
