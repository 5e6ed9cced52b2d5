// How a job stands after its events, and what stands in the way of a step, by the keys the bench handed over with each
// step. The phone asks so that it can say what is next without signal; the book asks its own rules again.

export const standing = (order, events) => {
  const steps = new Map(order.map((step) => [step.key, step]));
  const done = new Map();
  const skipped = new Map();
  const reopened = new Set();
  const locks = new Map();
  let ended = "";
  const on = (phase) => locks.get(phase) ?? new Set();
  const again = (keys) => keys.forEach((key) => { if (done.delete(key)) reopened.add(key); });
  for (const event of events) {
    const step = steps.get(event.step);
    if (event.kind === "done" && step) {
      const unlocked = order.some((each) => each.gate === "unlock" && each.phase === step.phase && done.has(each.key));
      if (step.gate === "isolation" && !on(step.phase).size && unlocked) again(step.anew);
      done.set(step.key, [...(done.get(step.key) ?? []).filter((name) => name !== event.by), event.by]);
      skipped.delete(step.key);
      reopened.delete(step.key);
      again(step.reopens);
      if (step.plain === "lock") locks.set(step.phase, on(step.phase).add(event.by));
      else if (step.gate === "unlock") on(step.phase).delete(event.by);
    } else if (event.kind === "skipped" && step) skipped.set(step.key, event);
    else if (event.kind === "undone" && step) { done.delete(step.key); skipped.delete(step.key); }
    else if (event.kind === "centre moved") again(order.filter((each) => ["align", "bolts"].includes(each.plain)).map((each) => each.key));
    else if (event.kind === "closed" || event.kind === "abandoned") ended = event.kind;
  }
  const state = (step) => {
    if (done.has(step.key) && !(step.gate === "unlock" && on(step.phase).size)) return "done";
    return skipped.has(step.key) ? "skipped" : "open";
  };
  const marks = new Map(order.map((step) => [step.key, { state: state(step), by: done.get(step.key) ?? (skipped.has(step.key) ? [skipped.get(step.key).by] : []),
    reason: skipped.get(step.key)?.reason ?? "", reopened: reopened.has(step.key) }]));
  return { marks, locks, ended, next: order.find((step) => state(step) === "open")?.key ?? "",
    names: [...new Set([...locks.values()].flatMap((some) => [...some]))].sort() };
};

const title = (order, key) => order.find((step) => step.key === key).title;

// What stands against doing a step now, in words; empty where nothing does.
export const whyNot = (order, now, key, by) => {
  const step = order.find((each) => each.key === key);
  const state = (other) => now.marks.get(other).state;
  if (now.ended) return `This job is ${now.ended}: open a new one.`;
  const first = step.needs.find((other) => state(other) === "open");
  if (first) return `First do “${title(order, first)}”.`;
  if (step.gate === "isolation") {
    const before = step.unlocksBefore.find((other) => state(other) !== "done");
    if (before) return `First finish “${title(order, before)}” of the isolation before.`;
  }
  const locks = now.locks.get(step.phase) ?? new Set();
  if (step.handsOn) {
    const open = step.isolation.find((other) => state(other) !== "done");
    if (open || !locks.size) return `Hands stay away until the drive is isolated: ${open ? `first do “${title(order, open)}”` : "isolate it again from the stop on"}.`;
    if (by && !locks.has(by)) return `${by} has no lock on the drive: do “Lock out” under that name first.`;
  }
  if (step.running) {
    if (now.names.length) return `Locks are still on (${now.names.join(", ")}).`;
    const must = step.must.find((other) => state(other) === "open");
    if (must) return `The drive may not run before “${title(order, must)}” is done.`;
  }
  if (step.gate === "unlock" && by && !locks.has(by)) return `${by} has no lock on this job; each lock is removed by its owner.`;
  return "";
};

// What stands against closing the job.
export const whyOpen = (order, now) => {
  if (now.names.length) return `Locks are still on (${now.names.join(", ")}): each is removed by its owner first.`;
  const open = order.find((step) => now.marks.get(step.key).state === "open");
  return open ? `Not finished: “${open.title}” is neither done nor skipped with a reason.` : "";
};
