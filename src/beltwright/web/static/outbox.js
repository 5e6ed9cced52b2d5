// The outbox: what was noted stays on the phone until the book has acknowledged it.
//
// Three stores: `notes` in the order noted, `files` (photos and clips) by name, `held` (jobs as the book last told
// them). A note is `waiting`, `refused` with its reason, or `kept` (acknowledged; it stays until the job it belongs to
// was fetched anew). Nothing but an acknowledgement or the person throws a waiting note away.

const NAME = "beltwright";
const VERSION = 1;
const AT_ONCE = 50;
// what the book said last of this phone's clock, shown on every page until it says that it is right
export const CLOCK = "clock of this phone";
// a page left open, or held, from before the book's server was brought up to date
export const OLD_PAGE = "This page is older than the book it writes to: load it anew. What was noted is kept.";
const KEPT_FOR = 30 * 24 * 3600e3;

let opened;

export const open = () => {
  opened ??= new Promise((resolve, reject) => {
    const asking = indexedDB.open(NAME, VERSION);
    asking.onupgradeneeded = () => {
      const has = asking.result.objectStoreNames;
      if (!has.contains("notes")) {
        asking.result.createObjectStore("notes", { keyPath: "seq", autoIncrement: true }).createIndex("id", "id", { unique: true });
      }
      if (!has.contains("files")) asking.result.createObjectStore("files", { keyPath: "name" });
      if (!has.contains("held")) asking.result.createObjectStore("held", { keyPath: "id" });
    };
    asking.onsuccess = () => {
      asking.result.onversionchange = () => { asking.result.close(); opened = undefined; };
      resolve(asking.result);
    };
    asking.onerror = () => {
      opened = undefined;
      reject(asking.error?.name === "VersionError" ? new Error(OLD_PAGE) : asking.error);
    };
    asking.onblocked = () => { opened = undefined; reject(new Error("another page of this app is in the way: close it")); };
  });
  return opened;
};

// One step of the outbox: all that `work` writes is on the phone when this is done, or none of it.
const step = async (stores, mode, work) => {
  const base = await open();
  return new Promise((resolve, reject) => {
    const going = base.transaction(stores, mode, { durability: "strict" });
    let answer;
    going.oncomplete = () => resolve(answer);
    going.onabort = () => reject(going.error ?? new Error("the phone would not keep it"));
    Promise.resolve(work(...stores.map((name) => going.objectStore(name)), (found) => { answer = found; })).catch(() => going.abort());
  });
};

export const isFull = (problem) => problem?.name === "QuotaExceededError";

const all = (name) => step([name], "readonly", (store, give) => {
  store.getAll().onsuccess = (event) => give(event.target.result);
});

// A UUIDv7 (RFC 9562): 48 bits of milliseconds, the rest by chance.
export const mark = (at = Date.now()) => {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let place = 5, rest = at; place >= 0; place -= 1, rest = Math.floor(rest / 256)) bytes[place] = rest % 256;
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
};

export const notes = () => all("notes");
export const waiting = async () => (await notes()).filter((note) => note.state !== "kept");

// Keep facts, with the files they name, in one step. Fails when the phone has no room: then nothing of it was kept.
export const add = async (facts, files = []) => {
  const made = facts.map((fact) => ({ id: fact.id, fact, state: "waiting", reason: "", noted: Date.now() }));
  try {
    await step(["notes", "files"], "readwrite", (store, boxes) => {
      for (const file of files) boxes.put(file);
      for (const note of made) store.add(note);
    });
  } catch (problem) {
    throw new Error(isFull(problem) ? "This phone has no room left and the note was NOT kept. Free some room or write it down."
      : `This phone would not keep the note: ${problem?.message ?? problem}. Write it down.`, { cause: problem });
  }
  navigator.storage?.persist?.().catch(() => {});
  changed();
  return made;
};

export const change = async (id, with_) => {
  await step(["notes"], "readwrite", (store) => {
    store.index("id").get(id).onsuccess = (event) => {
      if (event.target.result) store.put({ ...event.target.result, ...with_ });
    };
  });
  changed();
};

// Throw a note away, with the photos and clips that no other note names.
export const throwAway = async (id) => {
  await step(["notes", "files"], "readwrite", (store, boxes) => {
    store.getAll().onsuccess = (event) => {
      const gone = event.target.result.find((note) => note.id === id);
      if (!gone) return;
      store.delete(gone.seq);
      const named = new Set(event.target.result.filter((note) => note !== gone).flatMap((note) => note.fact.files ?? []));
      for (const name of gone.fact.files ?? []) if (!named.has(name)) boxes.delete(name);
    };
  });
  changed();
};

// Put new notes in the place of one that was refused, its photos and clips go over to them.
export const mendWith = async (id, facts, files = []) => {
  const old = (await notes()).find((note) => note.id === id);
  const before = old?.fact.files ?? [];
  const made = await add(facts.map((fact) => ({ ...fact, files: [...new Set([...before, ...(fact.files ?? [])])] })), files);
  if (old) await throwAway(id);
  return made;
};

export const hold = (job) => step(["held", "notes"], "readwrite", (held, store) => {
  held.get(job.id).onsuccess = (event) => {
    // facts are only added: the longer list of events is the newer one
    if ((event.target.result?.events.length ?? -1) <= job.events.length) held.put(job);
  };
  const there = new Set([...job.events.map((each) => each.id), ...job.readings]);
  store.openCursor().onsuccess = (event) => {
    const at = event.target.result;
    if (!at) return;
    const old = Date.now() - at.value.noted > KEPT_FOR;
    if (at.value.state === "kept" && (there.has(at.value.id) || old)) at.delete();
    at.continue();
  };
});

export const held = async (id) => (await all("held")).find((job) => job.id === id);
export const allHeld = () => all("held");

// A photo or clip as the outbox keeps it: named by its SHA-256 and its kind.
const ENDS = { "image/jpeg": "jpg", "image/png": "png", "image/webp": "webp", "image/heic": "heic", "image/heif": "heic", "audio/wav": "wav", "audio/x-wav": "wav",
  "audio/flac": "flac", "audio/ogg": "ogg", "audio/webm": "webm", "video/webm": "webm", "audio/mp4": "m4a",
  "audio/x-m4a": "m4a", "audio/mpeg": "mp3" };
export const enclose = async (file) => {
  const end = ENDS[file.type.split(";")[0]] ?? /\.(heic|jpg|png|webp|wav|flac|ogg|webm|m4a|mp3)$/i.exec(file.name)?.[1].toLowerCase();
  if (!end) throw new Error(`${file.name}: a photo (JPEG, PNG, WebP, HEIC) or a clip (WAV, FLAC, Ogg, WebM, M4A, MP3) is taken; this is neither. Nothing was noted yet.`);
  const bytes = await file.arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return { name: `${[...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("")}.${end}`, bytes, size: bytes.byteLength };
};

// --- sending ---------------------------------------------------------------------------------------------------------

const listeners = new Set();
export const onChange = (tell) => listeners.add(tell);
const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("beltwright-notes") : null;
if (channel) channel.onmessage = () => listeners.forEach((tell) => tell());
const changed = () => { listeners.forEach((tell) => tell()); channel?.postMessage(1); };

// Give up what the server has not answered within half a minute: it is repeatable.
const ask = (address, more) => fetch(address, { ...more, signal: AbortSignal.timeout(30e3), redirect: "error",
  headers: { Accept: "application/json", ...more.headers } });

const sendFiles = async (some) => {
  const wanted = new Set(some.flatMap((note) => note.fact.files ?? []));
  for (const file of await all("files")) {
    if (!wanted.has(file.name)) continue;
    const answer = await ask(`/api/v1/files/${file.name}`, { method: "PUT", body: file.bytes });
    if (answer.ok) await step(["files"], "readwrite", (store) => { store.delete(file.name); });
    else if (answer.status === 422 || answer.status === 413) {
      const reason = (await answer.json().catch(() => ({}))).problem ?? "the file was not taken";
      for (const note of some.filter((each) => each.fact.files?.includes(file.name))) {
        await change(note.id, { state: "refused", reason });
      }
    } else return answer.status;
  }
  return 200;
};

let going = null;

// Send what waits. Answers with how it stands; never throws, and never drops a note without its acknowledgement.
export const send = () => {
  const locked = () => (navigator.locks ? navigator.locks.request("beltwright-send", sendAll) : sendAll());
  going ??= locked().catch((problem) => ({ sent: 0, said: `cannot send: ${problem.message}`, clock: "" }))
    .finally(() => { going = null; });
  return going;
};

const sendAll = async () => {
  let sent = 0;
  let clock = "";
  let held = "";
  let older = false;
  const tried = new Set();
  const next = async () => (await notes()).filter((note) => note.state === "waiting" && !tried.has(note.id)).slice(0, AT_ONCE);
  const how = (said) => ({ sent, said, clock, older });
  for (;;) {
    let some = await next();
    if (!some.length) return how(held);
    let status;
    try {
      status = await sendFiles(some);
      if (status !== 200) return how(refusal(status));
      some = await next();
      if (!some.length) continue;
      const answer = await ask("/api/v1/sync", { method: "POST", headers: { "Content-Type": "application/json" },
        body: JSON.stringify({ sent_at: new Date().toISOString(), facts: some.map((note) => note.fact) }) });
      if (!answer.ok) return how(refusal(answer.status));
      const told = await answer.json();
      clock = told.clock;
      older = Boolean(told.pages) && told.pages !== document.documentElement.dataset.pages;
      localStorage.setItem(CLOCK, clock);   // before the notes go: a page left at once must not take the warning along
      await step(["notes"], "readwrite", (store) => {
        for (const each of told.facts) {
          store.index("id").get(each.id).onsuccess = (event) => {
            const note = event.target.result;
            if (!note || note.state !== "waiting") return;
            const good = each.became === "kept" || each.became === "known";
            const job = note.fact.job;
            if (good && !job) store.delete(note.seq);
            else if (good) store.put({ ...note, state: "kept", reason: "" });
            else store.put({ ...note, state: each.became === "refused" ? "refused" : "waiting", reason: each.reason });
          };
        }
      });
      changed();
      sent += told.facts.filter((each) => each.became === "kept" || each.became === "known").length;
      const later = told.facts.find((each) => each.became === "later");
      if (later) held = later.reason;
      // what has to wait for another log-in does not keep back what was noted after it
      for (const note of some) tried.add(note.id);
    } catch {
      return how("no signal: the notes wait on this phone");
    }
  }
};

const refusal = (status) => ({
  401: "log in on this phone: the notes wait until then",
  403: "this log-in may not note: the notes wait on this phone",
  503: "the book cannot be written now: the notes wait on this phone",
}[status] ?? `the book did not answer as it should (${status}): the notes wait on this phone`);

export const age = (since, now = Date.now()) => {
  const minutes = Math.max(0, Math.floor((now - since) / 60e3));
  if (minutes < 1) return "just now";
  if (minutes < 120) return `${minutes} min`;
  return minutes < 48 * 60 ? `${Math.floor(minutes / 60)} h` : `${Math.floor(minutes / 1440)} days`;
};
