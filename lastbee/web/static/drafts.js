// What is being written stays on this device until it is kept, and comes back with the page; who
// goes back to a form that was kept writes on in the same entry, which makes it a correction.
import { element, unfold } from "./markup.js";

// Half a form that was left lying for longer belongs to another day's work.
const LONGEST_LEFT_MS = 7 * 24 * 3600 * 1000;
const DRAFT = "lastbee-draft ";
const KEPT = "lastbee-kept ";
const NOT_WORDS = new Set(["hidden", "file", "submit", "button"]);

/** Keep what is typed into a form; a change that the app makes as a whole is no typing. */
export function startDraft(form) {
  dropOld();
  const typed = ({ target }) => target !== form && keepDraft(form);
  form.addEventListener("input", typed);
  form.addEventListener("change", typed);
}

export function keepDraft(form) {
  const id = form.elements.namedItem("entry_id")?.value;
  write("localStorage", DRAFT + nameOf(form), { at: Date.now(), id, fields: wordsIn(form) });
}

export function dropDraft(form) {
  remove("localStorage", DRAFT + nameOf(form));
}

/** What was typed and not kept yet, and the id that it was to be kept under. */
export function draftOf(form) {
  return read("localStorage", DRAFT + nameOf(form));
}

/** Remember, while this tab is open, under which id a form was kept and what it said. */
export function rememberKept(form, { id, job }) {
  write("sessionStorage", KEPT + nameOf(form), { id, job, fields: wordsIn(form) });
}

export function keptFrom(form) {
  return read("sessionStorage", KEPT + nameOf(form));
}

/** Whether somebody has just gone back to this page. */
export function isReturn() {
  return performance.getEntriesByType("navigation")[0]?.type === "back_forward";
}

export function shows(form, { fields }) {
  return JSON.stringify(wordsIn(form)) === JSON.stringify(fields);
}

/** Fill a form with words; its files, its ids and who writes are left alone. */
export function fillWithWords(form, fields) {
  const byName = grouped(fields);
  for (const control of form.elements) {
    if (!isOfWords(control)) continue;
    const before = stateOf(control);
    fill(control, byName.get(control.name));
    if (stateOf(control) !== before) unfold(control);
  }
  form.dispatchEvent(new Event("input", { bubbles: true }));
}

/** Values of fields by their names, in their order. */
export function grouped(fields) {
  const byName = new Map();
  for (const [name, value] of fields) byName.set(name, [...(byName.get(name) ?? []), value]);
  return byName;
}

/** Fill one control with what was written under its name. */
export function fill(control, values) {
  if (control.type === "radio" || control.type === "checkbox") {
    control.checked = values?.includes(control.value) ?? false;
  } else if (values !== undefined) {
    // Several fields of one name take what was written in their order.
    const value = values.shift() ?? "";
    const isOffered = control.type !== "select-one" || [...control.options].some((one) => one.value === value);
    if (!isOffered) control.append(element("option", { value }, value));
    control.value = value;
  }
}

/** One line above a form on where its words come from, and the way to an empty one. */
export function sayFilled(form, words) {
  form.querySelector(".filled-again")?.remove();
  const anew = element("button", { type: "button", class: "plain", onclick: () => beginAnew(form) }, "Begin anew");
  form.prepend(element("p", { class: "caution filled-again", role: "status" }, `${words} `, anew));
}

function beginAnew(form) {
  dropDraft(form);
  remove("sessionStorage", KEPT + nameOf(form));
  // Bees that were counted for it go with it.
  for (const { dataset } of form.querySelectorAll("[data-counter]")) {
    remove("sessionStorage", `count ${location.pathname} ${dataset.counter}`);
  }
  location.replace(location.pathname);
}

function nameOf(form) {
  const { pathname } = new URL(form.getAttribute("action") ?? location.pathname, location.href);
  return form.elements.namedItem("take_back") ? `${pathname} taken back` : pathname;
}

function isOfWords({ name, type }) {
  return Boolean(name) && name !== "person" && !NOT_WORDS.has(type);
}

/** What was written; the unit of an amount that nobody wrote follows the page. */
function wordsIn(form) {
  const controls = [...form.elements].filter(isOfWords);
  const written = controls.filter((one) => !["radio", "checkbox"].includes(one.type) || one.checked);
  const isAmount = ({ name }) =>
    !name.endsWith(":unit") || form.elements.namedItem(name.replace(/:unit$/, ""))?.value !== "";
  return written.filter(isAmount).map(({ name, value }) => [name, value]);
}

function stateOf({ checked, value, type }) {
  return ["radio", "checkbox"].includes(type) ? String(checked) : value;
}

function dropOld() {
  try {
    for (const key of Object.keys(localStorage).filter((one) => one.startsWith(DRAFT))) {
      if (!(Date.now() - read("localStorage", key)?.at < LONGEST_LEFT_MS)) localStorage.removeItem(key);
    }
  } catch {
    // Nothing was kept.
  }
}

// A browser that keeps nothing refuses even the question.

function read(store, key) {
  try {
    return JSON.parse(window[store].getItem(key));
  } catch {
    return null;
  }
}

function write(store, key, value) {
  try {
    window[store].setItem(key, JSON.stringify(value));
  } catch {
    // Then it comes back no more than it did before.
  }
}

function remove(store, key) {
  try {
    window[store].removeItem(key);
  } catch {
    // Nothing was kept.
  }
}
