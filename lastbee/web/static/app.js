// Loads the parts of the app that this page has a use for; the page works without any of them.
const parts = [
  ["outbox", "#saved-state"],
  ["entry", "form[data-entry]"],
  ["standing", "[data-standing]"],
];

for (const [name, sign] of parts) {
  if (document.querySelector(sign)) {
    import(`./${name}.js`).catch((error) => console.error(`${name} does not run:`, error));
  }
}
