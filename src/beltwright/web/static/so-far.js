// Works the drive out while one types. Without this module each step does the same when one goes on.
const form = document.querySelector("form.questions");
const places = ["clash", "so-far"];
if (form) {
  let asked = 0;
  const look = async () => {
    const mine = ++asked;
    const answers = new URLSearchParams([...new FormData(form)].filter(([, text]) => text !== ""));
    const answer = await fetch(`/survey/so-far?${answers}`).catch(() => null);
    if (!answer?.ok || mine !== asked) return;
    const came = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const id of places) document.getElementById(id)?.replaceChildren(...came.getElementById(id).childNodes);
  };
  form.addEventListener("change", look);
}
// the first box that cannot be read, or that a link asked for
(document.querySelector("[aria-invalid]") ?? document.querySelector(location.hash || "#none"))?.focus();
