// Why it fails, on the phone: answers go into the outbox; without signal the questions worked out ahead go on.
import { add, mark, waiting } from "./outbox.js";
import { sendNow, takeAlong } from "./notes.js";

const box = document.querySelector("[data-why]");
const { tag, ahead } = box.dataset;
const part = (name) => box.querySelector(`[data-${name}]`);
const KEPT = "Noted on this phone. The ranking goes on when there is signal; other checks can be answered below.";
let tree = [];
let place;

const kept = async () => (await (await caches.open("pages")).match(ahead))?.json().catch(() => []) ?? [];

const say = (words) => {
  const line = part("said");
  line.textContent = words;
  line.hidden = !words;
};

const svg = (name, attributes) => {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
};

const row = (cause) => {
  const line = document.createElement("li");
  const [title, chance, words] = ["span", "span", "small"].map((name) => document.createElement(name));
  title.className = "cause"; title.textContent = cause.title;
  chance.className = "chance"; chance.textContent = cause.chance;
  words.textContent = cause.words;
  const bar = svg("svg", { class: "bar", viewBox: "0 0 100 8", preserveAspectRatio: "none", "aria-hidden": "true" });
  bar.append(svg("rect", { class: "whole", width: 100, height: 8 }), svg("rect", { class: "part", width: cause.bar, height: 8 }));
  line.append(title, chance, bar, words);
  return line;
};

const firstUp = (text) => text.slice(0, 1).toUpperCase() + text.slice(1);

const show = () => {
  const { causes, question, stop } = place;
  part("causes").replaceChildren(...causes.map(row));
  part("question").hidden = !question;
  part("stop").hidden = Boolean(question);
  part("stop").textContent = stop ? `${firstUp(stop)}.` : "";
  if (!question) return;
  part("ask").textContent = question.ask;
  part("takes").textContent = `${firstUp(question.where)}; ${question.takes}.`;
  part("lock").hidden = !question.lock_out;
  part("tells").textContent = question.tells;
  part("measure").hidden = true;
  part("question").querySelector('[name="sign"]').value = question.sign;
};

// along the tree by one answer; false where it ends
const step = (sign, answer) => {
  if (place?.question?.sign !== sign || !(answer in place.leads)) return false;
  place = tree[place.leads[answer]];
  return true;
};

const ahead_of = async () => {
  tree = await kept();
  place = tree[0];
  const mine = (await waiting()).map((note) => note.fact).filter((fact) => fact.tag === tag && fact.kind_of === "answer");
  const went = mine.filter((fact) => step(fact.values.sign, fact.values.answer)).length;
  if (went) show();
  if (mine.length) say(went === mine.length ? "As of the answers on this phone." : KEPT);
};

document.addEventListener("submit", async (event) => {
  const form = event.target.closest("form[data-note]");
  if (!form) return;
  event.preventDefault();
  const chosen = event.submitter;
  const by = form.elements.by.value.trim().split(/\s+/).join(" ");
  if (!by) return say("A name is needed: every answer is somebody's.");
  for (const name of document.querySelectorAll('input[name="by"]')) name.value = by;
  const kind = form.elements.kind.value;
  const values = { [chosen.name]: chosen.value };
  for (const name of ["sign", "cause", "proof"]) if (form.elements[name]?.value) values[name] = form.elements[name].value.trim();
  const state = values.verdict === "cured" ? "as left" : "as found";
  try {
    await add([{ id: mark(), kind: "reading", at: new Date().toISOString(), by, tag, kind_of: kind, state, values, job: null, words: "", files: [] }]);
  } catch (problem) {
    return say(problem.message);
  }
  const moved = kind === "answer" && step(values.sign, values.answer);
  if (moved) show();
  say(moved ? "" : KEPT);
  const went = await sendNow();
  if (went?.sent) location.reload();
  else if (moved) document.getElementById("to-check").scrollIntoView({ block: "start" });
  return undefined;
});

await takeAlong([location.pathname, ahead]);
await ahead_of();
