// Finding a drive while one types. Without this module the form asks for the page, which finds the same.
const form = document.querySelector("form.seek");
const place = document.getElementById("found");
if (form && place) {
  const box = form.querySelector("input");
  const before = place.innerHTML;
  let asked = 0;
  let waiting;

  const look = async () => {
    const words = box.value.trim();
    const mine = ++asked;
    if (!words) {
      place.innerHTML = before;
      return;
    }
    const answer = await fetch(`/found?q=${encodeURIComponent(words)}`).catch(() => null);
    if (answer?.ok && mine === asked) place.innerHTML = await answer.text();
  };

  place.setAttribute("aria-live", "polite");
  box.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(look, 120);
  });
}
