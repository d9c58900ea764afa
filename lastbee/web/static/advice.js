// What to do before leaving the wall, from the table that the office's pages are made from
// (lastbee/record/at_the_wall.py). Given one visit, both say the same.

/**
 * The rules that speak, the most pressing first.
 *
 * @param {{rules: object[], temperatures: object[]}} table as /advice.json gives it
 * @param {Map<string, unknown>} written what stands at each dotted key of the visit
 */
export function advice(table, written) {
  const holds = (condition) => passes(condition, written.get(condition.key), table.temperatures);
  return table.rules.filter(
    (rule) => rule.when.every((group) => group.some(holds)) && !rule.unless.some(holds),
  );
}

/** The leaves of a tree by their dotted keys. */
export function leaves(tree, within = "", found = new Map()) {
  for (const [name, value] of Object.entries(tree)) {
    if (value !== null && typeof value === "object" && !Array.isArray(value)) {
      leaves(value, `${within}${name}.`, found);
    } else {
      found.set(within + name, value);
    }
  }
  return found;
}

function passes({ test, value: wanted }, value, temperatures) {
  switch (test) {
    case "is":
      return word(value) === wanted;
    case "written":
      return ![null, ""].includes(word(value));
    case "done":
      return ![null, "", "no"].includes(word(value));
    case "some":
      return word(value) !== "none" && /[1-9]/.test(String(value));
    case "colder": {
      const found = degreesC(value, temperatures);
      return found !== null && found < wanted;
    }
    case "at least":
    case "at most": {
      const found = number(value);
      if (found === null) return false;
      return test === "at least" ? found >= wanted : found <= wanted;
    }
    default:
      return false;
  }
}

function word(value) {
  if (value === null || value === undefined) return null;
  const said = String(value).replace(/[ \t\n\r_-]+/g, " ").replace(/^ | $/g, "").toLowerCase();
  return { true: "yes", false: "no" }[said] ?? said;
}

function number(value) {
  if (typeof value === "number") return value;
  if (typeof value !== "string") return null;
  const bare = value.replace(/^ +| +$/g, "");
  return /^-?[0-9]+([.,][0-9]+)?$/.test(bare) ? Number(bare.replace(",", ".")) : null;
}

// Signs that phones put in place of the plain ones.
const PLAIN = [[/[º˚]/g, "°"], [/℃/g, "°c"], [/℉/g, "°f"], [/[−–]/g, "-"], [/[\s]+/g, " "]];

/** A temperature such as "24 C" or "75 °F"; null for what is none. [degC] */
export function degreesC(value, temperatures) {
  if (typeof value !== "string") return null;
  const plain = PLAIN.reduce((text, [sign, by]) => text.replace(sign, by), value)
    .trim()
    .toLowerCase()
    .replaceAll("° ", "°");
  const match = /^(-?(?:[0-9]{1,9}(?:[.,][0-9]{1,9})?|[.,][0-9]{1,9})) ?([a-z°][a-z° .]*)$/.exec(plain);
  if (match === null || /^-?[1-9][0-9]{0,2},[0-9]{3}$/.test(match[1])) return null;
  const spelling = match[2].replaceAll(".", " ").trim().replace(/ +/g, " ");
  const unit = temperatures.find(({ spellings }) => spellings.includes(spelling));
  if (unit === undefined) return null;
  return (Number(match[1].replace(",", ".")) + unit.offset) * unit.factor;
}

/**
 * What a filled-in form says at each dotted key: units put to their numbers, ticks in place of
 * amounts.
 *
 * @param {[string, string][]} fields names and values as they are posted
 */
export function writtenIn(fields) {
  const posted = new Map(fields.filter(([, value]) => value.trim() !== ""));
  const written = new Map();
  for (const [name, value] of posted) {
    const [key, part] = name.split(":");
    if (part === undefined) {
      const unit = posted.get(`${key}:unit`);
      written.set(key, unit && /^[-−–]?[0-9.,]+$/.test(value.trim()) ? `${value} ${unit}` : value);
    } else if (part === "tick" && !posted.has(key) && value === "yes") {
      written.set(key, key.startsWith("did.") ? "yes" : "none");
    }
  }
  return written;
}
