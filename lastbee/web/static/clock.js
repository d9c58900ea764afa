// The moment as the office's clock has it, also without signal: the page says what it was when
// it was made, and how far the device's own clock is off is kept from then on.

const OFFSET = "clock-offset-ms";

/** Gives a function that says the moment in milliseconds since 1970. */
export async function officeClock(kept) {
  const told = Date.parse(document.body.dataset.now ?? "");
  if (isFresh() && !Number.isNaN(told)) {
    const offset = told - Date.now();
    await kept?.keepFact(OFFSET, offset);
    return () => Date.now() + offset;
  }
  const offset = (await kept?.fact(OFFSET)) ?? 0;
  return () => Date.now() + offset;
}

/** Whether the page comes from the office just now. */
function isFresh() {
  const [entry] = performance.getEntriesByType("navigation");
  return !("copy" in document.documentElement.dataset) && entry?.type !== "back_forward";
}

/** A moment in the zone of the office, as its pages write it: "14 Jul, 13:05"; today, "13:05". */
export function momentWords(milliseconds, now, like = document.body.dataset.now ?? "") {
  const [day, hour] = local(milliseconds, like);
  return now !== undefined && day === local(now, like)[0] ? hour : `${day}, ${hour}`;
}

function local(milliseconds, like) {
  const [, sign, hours, minutes] = /([+-])(\d\d):(\d\d)$/.exec(like) ?? ["", "+", "00", "00"];
  const ahead = (Number(hours) * 60 + Number(minutes)) * (sign === "-" ? -1 : 1);
  const there = new Date(milliseconds + ahead * 60_000);
  const month = there.toLocaleString("en", { month: "short", timeZone: "UTC" });
  return [`${there.getUTCDate()} ${month}`, there.toISOString().slice(11, 16)];
}
