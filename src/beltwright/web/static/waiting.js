// The notes on this phone: what waits, what was refused and why; to send, mend or throw away. And what is held here.
import { age, allHeld, change, notes, onChange, throwAway } from "./outbox.js";
import { sendNow } from "./notes.js";

const list = document.getElementById("notes");
const button = document.querySelector("[data-send]");
const said = document.querySelector("[data-kept]");

const what = (fact) => (fact.kind === "event" ? `${fact.what}${fact.step ? ` “${fact.step.split("@")[0]}”` : ""}`
  : fact.kind === "clip" ? `${fact.tag}, clip of ${fact.belt === "0" ? "the band" : `belt ${fact.belt}`}`
  : `${fact.tag}, ${fact.kind_of}: ${Object.entries(fact.values).map(([name, text]) => `${name.replaceAll("_", " ")} ${text}`).join(", ")}`);

const act = (words, done) => {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "button";
  made.textContent = words;
  made.addEventListener("click", done);
  return made;
};

const show = async () => {
  const some = (await notes()).filter((note) => note.state !== "kept");
  list.replaceChildren(...some.map((note) => {
    const line = document.createElement("li");
    line.className = note.state;
    const title = document.createElement("b");
    title.textContent = what(note.fact);
    const small = document.createElement("small");
    small.textContent = `${note.fact.by}, ${age(note.noted)}${note.reason ? ` · ${note.state === "refused" ? "refused: " : ""}${note.reason}` : ""}`;
    line.append(title, small);
    if (note.state === "refused") {
      const ways = document.createElement("p");
      ways.className = "ways";
      ways.append(act("Send again", async () => { await change(note.id, { state: "waiting", reason: "" }); await sendNow(); }));
      if (note.fact.kind === "reading") {
        const { tag, kind_of: kind, job, state } = note.fact;
        ways.append(act("Mend it", () => location.assign(`/drives/${encodeURIComponent(tag.replace(/[^\p{L}\p{N}]/gu, "-"))}/readings/${kind.replaceAll(" ", "-")}?${new URLSearchParams({ mend: note.id, state, ...(job ? { job } : {}) })}`)));
      }
      if (note.fact.kind === "clip") {
        const { tag, belt, job, state } = note.fact;
        ways.append(act("Pluck it again", () => location.assign(`/drives/${encodeURIComponent(tag.replace(/[^\p{L}\p{N}]/gu, "-"))}/listen?${new URLSearchParams({ belt, state, ...(job ? { job } : {}) })}`)));
      }
      ways.append(act("Throw it away", async () => { if (confirm(`Throw away: ${what(note.fact)}?`)) await throwAway(note.id); }));
      line.append(ways);
    }
    return line;
  }));
  if (!some.length) list.innerHTML = "<li>No note waits on this phone.</li>";
  button.hidden = !some.length;
};

button.addEventListener("click", async () => {
  said.textContent = "Sending";
  const went = await sendNow();
  said.textContent = went.said || `${went.sent} sent. ${went.clock}`;
});
onChange(show);
show();

const held = document.getElementById("held");
for (const job of await allHeld()) {
  const line = document.createElement("li");
  const link = document.createElement("a");
  link.href = `/jobs/${job.id}`;
  link.textContent = `${job.tag}: ${job.kind}${job.ended ? `, ${job.ended}` : ""}`;
  line.append(link);
  held.append(line);
}
if (!held.children.length) held.innerHTML = "<li>No job is held on this phone. Open one while there is signal.</li>";
