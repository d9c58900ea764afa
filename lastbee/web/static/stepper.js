// A number by thumb.

/** A number one step on, never below `low`; what is no number begins there. Halves stay halves. */
export function stepped(written, by, { step, low }) {
  const text = String(written).trim();
  const number = Number(text.replace(",", "."));
  if (text === "" || Number.isNaN(number)) return by > 0 ? Math.max(low, step) : low;
  return Math.max(low, Math.round((number + by * step) / step) * step);
}
