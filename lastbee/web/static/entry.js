// Makes forms quicker by thumb: steppers, the counter, the hour, the name, the place. Every field
// is a plain input without it, and what it writes can be written by hand.
import { officeClock } from "./clock.js";
import { startCounter } from "./counter.js";
import { openKept } from "./kept.js";
import { unfold } from "./markup.js";
import { stepped } from "./stepper.js";

const PERSON = "lastbee-person";
const MINUTE_MS = 60_000;

const form = document.querySelector("form.entry");

// Steppers.

function startStepper(stepper) {
  const input = stepper.querySelector("input");
  const bounds = { step: Number(stepper.dataset.step), low: Number(stepper.dataset.low) };
  stepper.dataset.live = "";
  for (const button of stepper.querySelectorAll("[data-by]")) {
    button.hidden = false;
    button.addEventListener("click", () => {
      write(input, stepped(input.value, Number(button.dataset.by), bounds));
      navigator.vibrate?.(15);
    });
  }
}

/** Write into a field as a hand would, so that whoever listens hears of it. */
function write(input, value) {
  input.value = String(value);
  input.dispatchEvent(new Event("input", { bubbles: true }));
  input.dispatchEvent(new Event("change", { bubbles: true }));
}

// The hour: what the office's clock says when the first field is touched, unless written by hand.

async function keepHour() {
  const kept = await openKept().catch(() => null);
  const now = await officeClock(kept);
  const zone = /([+-])(\d\d):(\d\d)$/.exec(form.dataset.zoneNow) ?? [0, "+", "00", "00"];
  const aheadMs = (Number(zone[2]) * 60 + Number(zone[3])) * MINUTE_MS * (zone[1] === "-" ? -1 : 1);
  const fields = ["date", "time", "inspection.date", "inspection.time"]
    .map((name) => form.elements.namedItem(name))
    .filter((field) => field && field.value !== "" && field.value === field.defaultValue);
  const refresh = (event) => {
    if (!event.isTrusted) return;
    form.removeEventListener("input", refresh);
    form.removeEventListener("click", refresh);
    const local = new Date(now() + aheadMs).toISOString();
    for (const field of fields) {
      if (field === event.target || field.value !== field.defaultValue) continue;
      field.value = field.name.endsWith("date") ? local.slice(0, 10) : local.slice(11, 16);
    }
  };
  form.addEventListener("input", refresh);
  form.addEventListener("click", refresh);
}

// The name of whoever writes stays on this device.

function keepPerson() {
  const fields = [...document.querySelectorAll("form[data-entry] [name=person]")];
  const say = (name) => fields.forEach((field) => (field.value = name));
  try {
    if (fields.every(({ value }) => value === "")) say(localStorage.getItem(PERSON) ?? "");
    for (const field of fields) {
      field.addEventListener("input", () => {
        localStorage.setItem(PERSON, field.value.trim());
        fields.filter((one) => one !== field).forEach((one) => (one.value = field.value));
      });
    }
  } catch {
    // A browser that keeps nothing asks each time.
  }
  const signer = document.querySelector("[name=signed_by]");
  if (signer?.value === "") signer.value = fields[0].value;
}

// The place.

function startPosition(fieldset) {
  const button = fieldset.querySelector("[data-here]");
  const told = fieldset.querySelector("[role=status]");
  if (!navigator.geolocation || !window.isSecureContext) return;
  button.hidden = false;
  button.addEventListener("click", () => {
    told.textContent = "Looking where this is …";
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        const [latitude, longitude] = fieldset.querySelectorAll("input");
        write(latitude, coords.latitude.toFixed(5));
        write(longitude, coords.longitude.toFixed(5));
        told.textContent = `Filled in, good to about ${Math.round(coords.accuracy)} m.`;
      },
      () => (told.textContent = "The phone does not say where it is: write it by hand, or leave it."),
      { enableHighAccuracy: true, timeout: 20_000, maximumAge: MINUTE_MS },
    );
  });
}

// Weather that somebody read nearby.

function startSuggestion(shown) {
  const values = JSON.parse(shown.dataset.suggested);
  shown.querySelector("[data-take]").addEventListener("click", (event) => {
    event.preventDefault();
    for (const [name, [value]] of Object.entries(values)) {
      const control = form.elements.namedItem(name);
      if (control instanceof RadioNodeList) control.value = value;
      else if (control) write(control, value);
    }
    shown.hidden = true;
  });
}

// A summary leads to fields that may be folded away.

function goToTarget() {
  const target = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
  if (!target) return;
  unfold(target);
  target.focus();
}

keepPerson();
if (form) {
  for (const stepper of form.querySelectorAll(".stepper")) startStepper(stepper);
  for (const counter of form.querySelectorAll("[data-counter]")) startCounter(counter, write);
  for (const fieldset of form.querySelectorAll("[data-position]")) startPosition(fieldset);
  for (const shown of form.querySelectorAll("[data-suggested]")) startSuggestion(shown);
  if ("new" in form.dataset) keepHour();
  window.addEventListener("hashchange", goToTarget);
  goToTarget();
  const problems = document.getElementById("problems");
  if (problems && !location.hash) problems.focus();
}

// What is told at once must not come to lie on the answer that called for it.
document
  .querySelector("form.calling")
  ?.addEventListener("change", ({ target }) => target.scrollIntoView({ block: "nearest" }));
