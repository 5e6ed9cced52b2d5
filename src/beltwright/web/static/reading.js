// The form of a reading: judges while one types, and puts what is noted into the outbox instead of posting it.
import { held, inLine, moves, number } from "./judge.js";
import { add, enclose, mark, mendWith, notes } from "./outbox.js";
import { sendNow } from "./notes.js";

const form = document.querySelector("form[data-reading]");
const carry = JSON.parse(form.dataset.carry);
const asked = new URLSearchParams(location.search);
const said = form.querySelector("[data-kept]");
const mending = asked.get("mend");

// the phone may show a page it holds for another step: what the address says counts
for (const name of ["job", "step"]) if (asked.get(name)) form.elements[name].value = asked.get(name);
for (const name of ["state", "age"]) {
  const wanted = [...form.querySelectorAll(`[name="${name}"]`)].find((box) => box.value === asked.get(name));
  if (wanted) wanted.checked = true;
}
const job = form.elements.job.value;
const back = job ? `/jobs/${job}${form.elements.step.value ? `?step=${encodeURIComponent(form.elements.step.value)}` : ""}` : form.dataset.back;
for (const link of document.querySelectorAll("[data-back]")) link.href = back;

const boxes = (place) => [...place.querySelectorAll("[data-field]")].filter((box) => box.type !== "checkbox" || box.checked);
const rows = () => [...form.querySelectorAll("[data-row]")];
const shared = () => boxes(form).filter((box) => !box.closest("[data-row]"));
const si = (box) => {
  if (box.dataset.factor === undefined) return box.value;
  const typed = number(box.value);
  return typed === null ? undefined : typed * Number(box.dataset.factor) + Number(box.dataset.offset);
};
const values = (some) => Object.fromEntries(some.filter((box) => box.value.trim()).map((box) => [box.dataset.field, si(box)])
  .filter(([, value]) => value !== undefined));
const age = () => form.querySelector('[name="age"]:checked')?.value ?? "run-in";

const sign = (verdict, words) => {
  const line = document.createElement("span");
  line.className = `state ${verdict}`;
  line.innerHTML = `<svg aria-hidden="true"><use href="#m-${verdict}"/></svg><span></span>`;
  line.lastChild.textContent = words.charAt(0).toUpperCase() + words.slice(1);
  return line;
};

const judgeRows = () => {
  const common = values(shared());
  for (const row of rows()) {
    const place = row.querySelector(".judged");
    if (!place) continue;
    const found = held(carry.rules, { ...common, ...values(boxes(row)) }, age());
    place.replaceChildren(...found.flatMap((each) => {
      const band = document.createElement("small");
      band.textContent = each.rule.band;
      return [sign(each.verdict, each.words), band];
    }));
    row.classList.toggle("short", found.some((each) => each.verdict === "short"));
    row.classList.toggle("good", found.length > 0 && found.every((each) => each.verdict === "good"));
    const groove = row.querySelector(".said");
    if (groove) groove.textContent = [...row.querySelectorAll("input[data-factor]")].map((box) => box.value.trim()).filter(Boolean).join(" · ");
  }
};

const judgeLine = () => {
  const place = document.getElementById("line-answer");
  if (!place || !carry.straight) return;
  const layings = rows().map((row) => ({ values: values(boxes(row)), turned: row.querySelector('[data-field="turned"]').value }));
  const gaps = layings.map((laying) => carry.straight.points.map((name) => laying.values[name]));
  const whole = gaps.map((four) => four.every((gap) => typeof gap === "number"));
  const height = form.querySelector('[data-field="height"]')?.value.trim();
  place.hidden = !whole[0] || Boolean(height);
  document.getElementById("plan-move").toggleAttribute("hidden", true);
  const driver = document.getElementById("plan-driver");
  driver.removeAttribute("transform");
  if (place.hidden) return;
  const face = form.querySelector('[data-field="face"]').value;
  const line = inLine(carry.straight, whole[1] ? `${face}+${layings[1].turned}` : face, whole[1] ? [...gaps[0], ...gaps[1]] : gaps[0]);
  const words = { good: "In line", note: "Within what is allowed, beyond what to aim for", short: "Out of line, more than is allowed" }[line.verdict];
  place.replaceChildren(sign(line.verdict, words), ...moves(carry.straight, line, carry.length).map((move) => {
    const text = document.createElement("p");
    text.className = "do";
    text.textContent = move;
    return text;
  }));
  // drawn out of line as far as can be seen, always the right way; an arrow shows where it belongs
  const most = Math.abs(line.offset[0]) + Math.abs(line.angle[0]) * carry.straight.rim / 2 || 1;
  const out = Math.abs(line.offset[0]) > line.offset[1] ? 22 * line.offset[0] / most : 0;
  const turn = Math.abs(line.angle[0]) > line.angle[1] ? 8 * Math.sign(line.angle[0]) : 0;
  driver.setAttribute("transform", `translate(0 ${out.toFixed(1)}) rotate(${turn} 100 92)`);
  if (out) {
    const arrow = document.getElementById("plan-move");
    arrow.removeAttribute("hidden");
    arrow.setAttribute("transform", `translate(100 ${(66 + out).toFixed(1)}) scale(1 ${out > 0 ? 1 : -1})`);
  }
};

const judge = () => {
  judgeRows();
  judgeLine();
  for (const band of document.querySelectorAll(".bands [data-age]")) band.classList.toggle("other", band.dataset.age !== age());
};
form.addEventListener("input", judge);
form.addEventListener("change", judge);

// what stands in the box's unit keeps it, as typed for ever
const typed = (box) => {
  const text = box.value.trim();
  const bare = box.dataset.unit && /^[+-]?[\d\s./,-]+$/.test(text);
  return bare ? `${text} ${box.dataset.unit.replace("°C", "degC").replace("°F", "degF").replace("°", "deg")}` : text;
};
const filled = (some) => Object.fromEntries(some.map((box) => [box.dataset.field, typed(box)]).filter(([, text]) => text));

const facts = (files) => {
  const common = filled(shared());
  const by = form.elements.by.value.trim().split(/\s+/).join(" ");
  return rows().flatMap((row) => {
    const own = boxes(row);
    const says = own.some((box) => box.type !== "hidden" && box.dataset.field !== "turned" && box.value.trim());
    if (!says) return [];
    return [{ id: mark(), kind: "reading", at: new Date().toISOString(), by, tag: form.dataset.tag, kind_of: form.dataset.kind,
      state: form.querySelector('[name="state"]:checked').value, values: { ...common, ...filled(own) }, units: carry.system,
      job: job || null, words: form.elements.words.value.trim(), files }];
  });
};

form.addEventListener("submit", async (event) => {
  const chosen = [...form.elements.photo.files];
  if (chosen.length && !crypto.subtle) return;   // plain HTTP: the form itself carries photos
  event.preventDefault();
  try {
    const files = await Promise.all(chosen.map(enclose));
    const made = facts(files.map((file) => file.name));
    if (!made.length) throw new Error("Nothing was filled in.");
    await (mending ? mendWith(mending, made, files) : add(made, files));
    said.textContent = `${made.length === 1 ? "Noted" : `${made.length} noted`} on this phone.`;
    sendNow();
    if (back) location.assign(back);
  } catch (problem) {
    said.textContent = problem.message;
    said.scrollIntoView({ block: "nearest" });
  }
});

// a box that somebody has put something in while the phone was still looking for the note
const touched = (box) => (box.type === "checkbox" ? box.checked !== box.defaultChecked
  : "defaultValue" in box && box.value !== box.defaultValue);

// what was refused stands in its boxes again, to be mended there; what was typed meanwhile stays
const again = async () => {
  const fact = (await notes()).find((note) => note.id === mending)?.fact;
  if (!fact) return;
  const own = (row) => [...row.querySelectorAll('input[type="hidden"][data-field]')];
  const row = rows().find((each) => own(each).length && own(each).every((box) => (fact.values[box.dataset.field] ?? box.value) === box.value)) ?? rows()[0];
  row?.closest("details")?.setAttribute("open", "");
  for (const box of [...(row?.querySelectorAll("[data-field]") ?? []), ...form.querySelectorAll("[data-field]")]) {
    const text = fact.values[box.dataset.field];
    if (text === undefined || (box.closest("[data-row]") ?? row) !== row || box.type === "hidden" || touched(box)) continue;
    if (box.type === "checkbox") box.checked = box.value === text;
    else box.value = text;
  }
  if (fact.kind_of === "seen") for (const box of form.querySelectorAll('[data-field="what"]')) box.checked = box.value === fact.values.what;
  if (!touched(form.elements.words)) form.elements.words.value = fact.words ?? "";
  if (fact.files?.length) said.textContent = `${fact.files.length} ${fact.files.length === 1 ? "photo or clip stays" : "photos or clips stay"} with it.`;
  judge();
};

judge();
if (mending) await again();
