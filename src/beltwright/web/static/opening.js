// Opening a job asks the book, which makes its steps: without signal that is said, and nothing typed is lost.
const form = document.querySelector("form[data-opening]");
const said = form?.querySelector("[data-kept]");
const PATIENCE = 4000;

form?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const there = await fetch("/api/v1/me", { method: "HEAD", cache: "no-store", signal: AbortSignal.timeout(PATIENCE) })
    .then(() => true, () => false);
  if (there) form.submit();
  else said.textContent = "NOT opened: there is no signal here, and the steps of a job are made by the book. Open it where there is signal; from then on it goes on without.";
});
