// A button that prints the page; where modules do not run it stays hidden, and the browser's own menu prints as well.
for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
