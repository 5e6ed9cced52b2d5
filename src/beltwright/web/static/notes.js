// On every page: says how many notes wait on this phone and how old they are, and sends them when there is signal.
import { age, CLOCK, OLD_PAGE, onChange, send, waiting } from "./outbox.js";

const strip = document.getElementById("notes-waiting");
const AGAIN = 20e3;
let said = "";
let older = "";

const show = async () => {
  let problem = "";
  const some = await waiting().catch((error) => { problem = error.message; return null; });
  if (!strip) return;
  if (!some) {
    strip.hidden = false;
    strip.textContent = problem === OLD_PAGE ? OLD_PAGE
      : "This browser keeps no notes (a private window?): without signal nothing can be noted.";
    return;
  }
  const refused = some.filter((note) => note.state === "refused").length;
  const clock = localStorage.getItem(CLOCK) ?? "";
  strip.hidden = !some.length && !said && !clock && !older;
  if (strip.hidden) return;
  const oldest = some.length ? Math.min(...some.map((note) => note.noted)) : 0;
  const words = some.length ? `${some.length} ${some.length === 1 ? "note" : "notes"} waiting, ${some.length === 1 ? "" : "oldest "}${age(oldest)}` : "";
  const link = document.createElement("a");
  link.href = "/waiting";
  link.textContent = words || "Notes";
  strip.replaceChildren(link, document.createTextNode([refused ? `${refused} refused: mend them` : "", said, clock, older].filter(Boolean).map((part) => ` · ${part}`).join("")));
  strip.classList.toggle("refused", refused > 0);
};

export const sendNow = async () => {
  const some = await waiting().catch(() => []);
  if (some.some((note) => note.state === "waiting")) {
    const went = await send();
    said = went.said;
    older = went.older ? OLD_PAGE : older;
    await show();
    if (went.sent) document.dispatchEvent(new CustomEvent("notes-sent", { detail: went }));
    return went;
  }
  await show();
  return { sent: 0, said: "", clock: "" };
};

// Have the worker take pages along; false where the phone does not hold them all in the end.
export const NOT_WHOLE = "This phone does not hold every page of this: it has no room left, or the signal broke off. Without signal some will be missing.";
export const takeAlong = async (addresses) => {
  const worker = (await navigator.serviceWorker?.ready)?.active;
  if (!worker || !addresses.length) return true;
  const { port1, port2 } = new MessageChannel();
  return new Promise((resolve) => {
    port1.onmessage = (event) => resolve(event.data.whole);
    worker.postMessage({ take: addresses }, [port2]);
  });
};

// who noted last on this phone is offered again, also on a page that was kept before they said it
const NAME = "name on this phone";
for (const box of document.querySelectorAll('input[name="by"]')) {
  const before = localStorage.getItem(NAME);
  if (!box.value && before && (box.type !== "hidden" || box.hasAttribute("data-by"))) box.value = before;
  if (box.type !== "hidden") box.addEventListener("change", () => localStorage.setItem(NAME, box.value.trim()));
}

onChange(show);
addEventListener("online", sendNow);
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && sendNow());
setInterval(sendNow, AGAIN);
sendNow();

// before logging out: what waits is said; it stays on the phone for whoever noted it
document.addEventListener("submit", (event) => {
  if (event.target.getAttribute("action") !== "/log-out") return;
  const words = strip && !strip.hidden ? strip.textContent : "";
  if (words && !confirm(`${words}. They stay on this phone until you log in again. Log out?`)) event.preventDefault();
}, true);

// the worker may have come with the page to log in, when these two were not to be had yet
const ALWAYS = ["/waiting", "/no-signal"];
const always = async () => {
  const pages = await caches.open("pages");
  const found = await Promise.all(ALWAYS.map((address) => pages.match(address)));
  if (!found.every(Boolean)) await takeAlong(ALWAYS);
};

if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js").then(always).catch(() => {});
