// A job on the phone: one step a screen, going on without signal; what is done goes into the outbox.
import { add, held, hold, isFull, mark, notes } from "./outbox.js";
import { NOT_WHOLE, sendNow, takeAlong } from "./notes.js";
import { standing, whyNot, whyOpen } from "./standing.js";

const place = document.getElementById("job");
const carried = JSON.parse(place.dataset.carry);
const order = carried.order;
const sections = new Map([...place.querySelectorAll("[data-step]")].map((part) => [part.dataset.step, part]));
const said = place.querySelector("[data-said]");
const AGAIN = 15e3;
let job = carried;
let now;
let at = new URLSearchParams(location.search).get("step") ?? "";

const by = () => (place.querySelector('input[name="by"]:not([type="hidden"])') ?? place.querySelector('input[name="by"]'))?.value.trim() ?? "";

const mine = async () => (await notes()).filter((note) => note.fact.job === job.id && note.state !== "refused");

const see = async () => {
  const there = new Set(job.events.map((event) => event.id));
  const local = (await mine()).map((note) => note.fact).filter((fact) => !there.has(fact.id));
  const events = local.flatMap((fact) => {
    if (fact.kind === "event") return [{ id: fact.id, kind: fact.what, step: fact.step ?? "", by: fact.by, reason: fact.reason ?? "" }];
    return fact.kind_of === "motor move" ? [{ id: fact.id, kind: "centre moved", step: "", by: fact.by }] : [];
  });
  now = standing(order, [...job.events, ...events]);
  show(local.filter((fact) => fact.kind === "reading"));
};

const text = (state, mark_) => {
  if (state === "done") return `Done by ${mark_.by.join(", ")}`;
  if (state === "skipped") return `Skipped by ${mark_.by.join(", ")}: ${mark_.reason}`;
  return mark_.reopened ? "To be done again: something after it was changed." : "";
};

const show = (readings) => {
  if (!sections.has(at)) at = now.next;
  let done = 0;
  for (const [key, part] of sections) {
    const mark_ = now.marks.get(key);
    done += mark_.state !== "open";
    part.hidden = key !== at;
    part.querySelector("[data-mark]").textContent = text(mark_.state, mark_);
    const why = part.querySelector("[data-why]");
    const words = mark_.state === "done" ? "" : whyNot(order, now, key, by());
    why.hidden = !words;
    why.lastElementChild.textContent = words;
    part.classList.toggle("is-done", mark_.state === "done");
    for (const link of part.querySelectorAll(".reads a")) {
      const kind = new URL(link.href).pathname.split("/").pop().replaceAll("-", " ");
      const here = readings.filter((fact) => fact.kind_of.replaceAll("-", " ") === kind).length;
      let small = link.querySelector("small.here");
      if (here && !small) { small = document.createElement("small"); small.className = "here"; link.append(small); }
      if (small) small.textContent = here ? `${here} on this phone` : "";
    }
    const line = place.querySelector(`[data-line="${CSS.escape(key)}"]`);
    if (line) {
      line.className = mark_.state;
      line.querySelector("a").ariaCurrent = key === at ? "step" : null;
      line.querySelector("small").textContent = mark_.state + (mark_.state !== "open" ? `, ${mark_.by.join(", ")}` : "");
      line.querySelector("use").setAttribute("href", `#m-${{ done: "good", skipped: "note", open: "wait" }[mark_.state]}`);
    }
  }
  if (sections.size) {
    place.querySelector("progress").value = done;
    place.querySelector("[data-done]").textContent = done;
    place.querySelector("[data-locks]").textContent = now.names.length ? `Locks on: ${now.names.join(", ")}` : "No lock on";
  }
  const close = place.querySelector("[data-close]");
  if (close) {
    close.hidden = Boolean(now.next);
    const words = whyOpen(order, now);
    close.querySelector("[data-why-open]").hidden = !words;
    close.querySelector("[data-why-open]").lastElementChild.textContent = words;
  }
  if (now.ended && !place.dataset.ended) {
    say(`This job is ${now.ended}.`);
    for (const part of sections.values()) part.hidden = true;
    if (close) close.hidden = true;
  }
};

const say = (words) => {
  said.textContent = words;
  said.hidden = !words;
  if (words) said.scrollIntoView({ block: "center" });
};

const go = (key, { push = true } = {}) => {
  at = key;
  say("");
  if (push) history.pushState(null, "", key ? `?step=${encodeURIComponent(key)}` : location.pathname);
  see().then(() => {
    scrollTo(0, 0);
    sections.get(at)?.querySelector("h1")?.setAttribute("tabindex", "-1");
    sections.get(at)?.querySelector("h1")?.focus({ preventScroll: true });
  });
};

place.addEventListener("click", (event) => {
  const link = event.target.closest("[data-go]");
  if (!link) return;
  event.preventDefault();
  go(link.dataset.go);
});
addEventListener("popstate", () => go(new URLSearchParams(location.search).get("step") ?? "", { push: false }));

place.addEventListener("submit", async (event) => {
  const form = event.target.closest("form[data-event]");
  if (!form) return;
  event.preventDefault();
  const what = event.submitter?.value ?? "done";
  const step = form.elements.step?.value ?? "";
  const name = (form.querySelector('input[name="by"]:not([type="hidden"])')?.value || by()).trim().split(/\s+/).join(" ");
  if (!name) return say("A name is needed: every step is done by somebody.");
  for (const box of place.querySelectorAll('input[name="by"]')) box.value = name;
  const confirmed = [...form.querySelectorAll('[name="confirm"]:checked')].map((box) => box.value);
  const reason = form.elements.reason?.value.trim() ?? "";
  if (what === "done") {
    const unsaid = (order.find((each) => each.key === step)?.confirm ?? []).filter((words) => !confirmed.includes(words));
    const why = whyNot(order, now, step, name) || (unsaid.length ? `Confirm first: ${unsaid.join(", ")}.` : "");
    if (why) return say(why);
  }
  if (what === "closed" && whyOpen(order, now)) return say(whyOpen(order, now));
  try {
    await add([{ id: mark(), kind: "event", at: new Date().toISOString(), by: name, job: job.id, what, step, confirmed, reason }]);
  } catch (problem) {
    return say(problem.message);
  }
  await see();
  go(what === "undone" ? step : now.next);
  sendNow();
  return undefined;
});

// where there is room beside the step, the list of all steps stands there
const beside = place.querySelector(".all-steps");
if (beside && matchMedia("(min-width: 60rem)").matches) beside.open = true;

// what another phone did is seen here, too
const renew = async () => {
  const answer = await fetch(`/api/v1/jobs/${job.id}/along`, { headers: { Accept: "application/json" } }).catch(() => null);
  if (answer?.status !== 200) return;
  const found = await answer.json();
  const before = job.events.length;
  job = { ...job, ...found };
  await hold({ ...found, title: document.title, held: Date.now() });
  await see();
  if (found.ended && before !== job.events.length && !place.dataset.ended) location.reload();
};
document.addEventListener("notes-sent", (event) => {
  renew();
  if (event.detail.clock) say(event.detail.clock);
});
setInterval(() => document.visibilityState === "visible" && renew(), AGAIN);

// the clock of running new belts in: counted from a moment kept on the phone, so that it goes on through a reload
for (const clock of place.querySelectorAll("[data-clock]")) {
  const kept = `run-in ${job.id}`;
  const [low, high] = [Number(clock.dataset.low), Number(clock.dataset.high)];
  const face = clock.querySelector("output");
  const button = clock.querySelector("button");
  clock.hidden = false;
  const tick = () => {
    const began = Number(localStorage.getItem(kept));
    button.hidden = Boolean(began);
    if (!began) return;
    const ran = Math.max(0, (Date.now() - began) / 1000);
    const word = ran < low ? `run on until ${new Date(began + low * 1000).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}`
      : ran <= high ? "long enough: stop it and read again" : "longer than it needs: stop it and read again";
    face.innerHTML = "<b></b><span></span>";
    face.firstChild.textContent = `${Math.floor(ran / 60)}:${String(Math.floor(ran % 60)).padStart(2, "0")}`;
    face.lastChild.textContent = word;
    clock.classList.toggle("over", ran >= low);
  };
  button.addEventListener("click", () => { localStorage.setItem(kept, Date.now()); tick(); });
  setInterval(tick, 1000);
  tick();
  for (const line of place.querySelectorAll("[data-no-module]")) line.hidden = true;
}

// take along: every page this job needs
const along = async () => {
  if (!(await takeAlong(carried.pages))) say(NOT_WHOLE);
};

held(job.id).then(async (found) => {
  if (found && found.events.length > job.events.length) job = { ...job, ...found };
  await hold({ ...job, title: document.title, held: Date.now() });
  await see();
  along();
  renew();
}).catch((problem) => say(isFull(problem) ? "This phone has no room left: nothing can be noted on it. Free some room."
  : `This phone cannot keep notes: ${problem.message}`));
