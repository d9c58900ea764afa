// What is said at once when something was written down without signal: that it is kept, what a
// visit calls for before leaving, and the last forecast that this device has.
import { advice, writtenIn } from "./advice.js";
import { element, list } from "./markup.js";

/** Fetch, while there may be signal, what will be wanted when there is none. */
export async function prepare(kind, job) {
  if (kind !== "visit") return { table: null, forecast: null };
  const [own, common, forecast] = await Promise.all([
    table(`/job/${job}/advice.json`),
    table("/advice.json"),
    lastForecast(job),
  ]);
  return { table: own ?? common, forecast };
}

async function table(url) {
  const answer = await fetch(url, { headers: { Accept: "application/json" } }).catch(() => null);
  return answer?.ok ? answer.json().catch(() => null) : null;
}

async function lastForecast(job) {
  const answer = await fetch(`/job/${job}`, { headers: { Accept: "text/html" } }).catch(() => null);
  if (!answer?.ok) return null;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  return page.getElementById("last-forecast");
}

/** The page's new content after something was kept on the device. */
export function farewell(item, ready) {
  const heading = element("h1", { tabindex: "-1" }, "Kept on this phone");
  const state = element("p", { "data-outcome": "", role: "status" }, "Not sent yet.");
  const shown = element(
    "section",
    { class: "farewell", "data-entry-id": item.id },
    element("div", { class: "done" }, heading, state),
    ...(item.kind === "visit" ? atTheWall(item, ready.table) : []),
    ...forecastPart(ready.forecast),
    element(
      "p",
      { class: "buttons" },
      element("a", { class: "button", href: item.job ? `/job/${item.job}` : "/" }, item.job ? "Go to the job" : "Go to Today"),
      element("a", { class: "button plain", href: "/saved" }, "What is saved where"),
    ),
  );
  return { shown, heading, state };
}

function atTheWall(item, known) {
  if (known === null) return [];
  const rules = advice(known, writtenIn(item.fields));
  const said = rules.length === 0 ? element("p", {}, known.otherwise) : list("cards", rules, ruleLine);
  return [element("section", { id: "before-leaving" }, element("h2", {}, "Before you leave"), said)];
}

function ruleLine({ sign, do: what, caution }) {
  return [
    element("h3", {}, sign),
    element("p", {}, what),
    caution ? element("p", { class: "caution" }, caution) : null,
  ];
}

function forecastPart(forecast) {
  if (forecast === null) return [];
  const copy = document.importNode(forecast, true);
  return [
    element(
      "section",
      {},
      element("h2", {}, "Last forecast, made before this was written"),
      copy,
    ),
  ];
}
