// Listening: records a clip where the browser lets it, shows how loud it is and counts the plucks, hands it in to be
// heard, or into the outbox where there is no signal. Without any of that the form still takes a file.
import { add, enclose, mark } from "./outbox.js";
import { sendNow } from "./notes.js";

const LONGEST = 20;      // s
const ENOUGH = 16000;    // samples a second
const PATIENCE = 20e3;   // ms until no answer is taken for no signal
const LOUDER = 5;        // how many times louder than before a pluck begins
const APART = 0.3;       // s between plucks
const OFF = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
const NAMES = { echoCancellation: "echo cancellation", noiseSuppression: "noise suppression", autoGainControl: "automatic gain" };

// Fewer samples a second, each the mean of so many: the notes of belts lie far below what is lost.
const fewer = (parts, times) => parts.map((part) => {
  const made = new Float32Array(Math.floor(part.length / times));
  for (let at = 0; at < made.length; at += 1) {
    for (let more = 0; more < times; more += 1) made[at] += part[at * times + more] / times;
  }
  return made;
});

// Samples of one channel as a WAV file of 16 bits.
export const wav = (all, fast) => {
  const times = Math.max(1, Math.floor(fast / ENOUGH));
  const rate = Math.round(fast / times);
  const parts = times > 1 ? fewer(all, times) : all;
  const count = parts.reduce((sum, part) => sum + part.length, 0);
  const view = new DataView(new ArrayBuffer(44 + 2 * count));
  const text = (at, words) => [...words].forEach((sign, place) => view.setUint8(at + place, sign.charCodeAt(0)));
  text(0, "RIFF"); view.setUint32(4, 36 + 2 * count, true); text(8, "WAVEfmt ");
  view.setUint32(16, 16, true); view.setUint16(20, 1, true); view.setUint16(22, 1, true);
  view.setUint32(24, rate, true); view.setUint32(28, 2 * rate, true); view.setUint16(32, 2, true); view.setUint16(34, 16, true);
  text(36, "data"); view.setUint32(40, 2 * count, true);
  let at = 44;
  for (const part of parts) for (const sample of part) {
    view.setInt16(at, Math.max(-1, Math.min(1, sample)) * 32767, true);
    at += 2;
  }
  return new Blob([view.buffer], { type: "audio/wav" });
};

// Counts plucks while they come: a jump over what was before, heard below a few hundred hertz.
export const counter = (rate) => {
  let low = 0, quiet = null, since = APART, plucks = 0;
  return (part) => {
    const step = Math.max(1, Math.round(rate / 100));
    for (let start = 0; start < part.length; start += step) {
      let power = 0;
      const end = Math.min(start + step, part.length);
      for (let at = start; at < end; at += 1) {
        low += (part[at] - low) * Math.min(1, (6.28 * 300) / rate);
        power += low * low;
      }
      power = power / (end - start) + 1e-9;
      since += (end - start) / rate;
      if (quiet !== null && since > APART && power > LOUDER * quiet) { plucks += 1; since = 0; }
      quiet = quiet === null ? power : power > quiet ? quiet + (power - quiet) * 0.1 : quiet + (power - quiet) * 0.08;
    }
    return plucks;
  };
};

const begin = () => {
  const form = document.querySelector("form[data-listen]");
  if (!form) return;
  const find = (which) => form.querySelector(which);
  const said = find("[data-kept]");
  const asked = new URLSearchParams(location.search);
  // the phone may show a page it holds for another step: what the address says counts
  for (const name of ["job", "step"]) if (asked.get(name)) form.elements[name].value = asked.get(name);
  for (const name of ["belt", "state"]) {
    const box = [...form.querySelectorAll(`[name="${name}"]`)].find((each) => each.type === "radio" && each.value === asked.get(name));
    if (box && !document.querySelector("[data-told]")) box.checked = true;
  }
  let recorded = null;

  const show = (samples, plucks) => {
    find("[data-plucks]").textContent = plucks;
    find("[data-plucks-word]").textContent = plucks === 1 ? "pluck" : "plucks";
    find("[data-seconds]").textContent = `${samples.toFixed(0)} s`;
  };

  const record = async (button) => {
    const stream = await navigator.mediaDevices.getUserMedia({ audio: { ...OFF, channelCount: 1 } });
    const [track] = stream.getAudioTracks();
    const settings = track.getSettings();
    const still = Object.keys(OFF).filter((name) => settings[name] === true).map((name) => NAMES[name]);
    find("[data-warned]").textContent = still.length ? `This phone keeps ${still.join(" and ")} on, which can take the low notes away. Better: its own recorder, then choose the clip below.` : "";
    const context = new AudioContext();
    await context.audioWorklet.addModule(form.dataset.worklet);
    const node = new AudioWorkletNode(context, "recorder", { numberOfOutputs: 0 });
    const parts = [], count = counter(context.sampleRate), meter = find("#level");
    let seconds = 0, plucks = 0;
    const done = new Promise((resolve) => {
      const stop = () => resolve();
      button.onclick = stop;
      track.addEventListener("ended", stop);
      node.port.onmessage = ({ data }) => {
        parts.push(data);
        seconds += data.length / context.sampleRate;
        plucks = count(data);
        const loud = data.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
        meter.value = Math.max(loud, meter.value * 0.85);
        show(seconds, plucks);
        if (seconds > LONGEST) stop();
      };
    });
    context.createMediaStreamSource(stream).connect(node);
    button.textContent = "Stop";
    await done;
    track.stop();
    await context.close();
    recorded = new File([wav(parts, context.sampleRate)], "recorded.wav", { type: "audio/wav" });
  };

  const recorder = find("[data-recorder]");
  const none = find("[data-no-recorder]");
  const can = isSecureContext && navigator.mediaDevices?.getUserMedia && "AudioWorkletNode" in globalThis;
  recorder.hidden = !can;
  none.hidden = Boolean(can);
  if (!can) none.textContent = "Recording on this page needs HTTPS. Record with the phone's own recorder and choose the clip below.";

  const start = () => {
    const button = find("[data-record]");
    button.onclick = async () => {
      said.textContent = "";
      try {
        await record(button);
        await hear();
      } catch (problem) {
        said.textContent = problem.name === "NotAllowedError" ? "The microphone is not allowed: allow it for this page, or choose a clip below."
          : `Recording failed: ${problem.message}. Use the phone's own recorder and choose the clip below.`;
      }
      button.textContent = "Record again";
      start();
    };
  };
  if (can) start();

  const wait = async (file) => {
    const kept = await enclose(file);
    const belt = new FormData(form).get("belt");
    await add([{ id: form.elements.made.value || mark(), kind: "clip", at: new Date().toISOString(),
      by: form.elements.by.value.trim().split(/\s+/).join(" "), tag: form.dataset.tag, belt, state: new FormData(form).get("state"),
      span: form.elements.span.value.trim() ? `${form.elements.span.value.trim()} ${form.dataset.unit}` : "",
      job: form.elements.job.value || null, files: [kept.name] }], [kept]);
    form.elements.made.value = mark();
    said.textContent = `No signal: the clip of ${belt === "0" ? "the band" : `belt ${belt}`} waits on this phone and is heard when there is one.`;
    sendNow();
  };

  const hear = async () => {
    const file = recorded ?? form.elements.clip.files[0];
    if (!file) { said.textContent = "Record first, or choose a clip."; return; }
    if (!form.reportValidity()) return;
    const content = new FormData(form);
    content.set("clip", file, file.name);
    said.textContent = "Hearing it";
    let answer;
    try {
      answer = await fetch(form.action, { method: "POST", body: content, signal: AbortSignal.timeout(PATIENCE), headers: { Accept: "text/html" } });
      if (answer.status >= 500) throw new Error("no answer");
    } catch {
      await wait(file);
      return;
    }
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    document.querySelector("main").replaceWith(document.adoptNode(page.querySelector("main")));
    if (answer.redirected) history.pushState(null, "", answer.url.replace(/[?&]fresh=1/, ""));
    document.title = page.title;
    scrollTo(0, 0);
    begin();
    document.querySelector("main").focus();
  };

  form.addEventListener("submit", (event) => {
    if (!recorded && !form.elements.clip.files.length) return;   // the server says what is missing
    if (!crypto.subtle) return;   // plain HTTP: the form itself carries the clip
    event.preventDefault();
    hear().catch((problem) => { said.textContent = problem.message; });
  });
  form.elements.clip.addEventListener("change", () => { recorded = null; });
};

begin();
addEventListener("popstate", () => location.reload());
