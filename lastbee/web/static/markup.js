// Building parts of a page from words; nothing is ever taken for markup.

/** Make an element with attributes (null leaves one out) and what is in it. */
export function element(name, attributes = {}, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (value !== null && value !== undefined) made.setAttribute(key, value);
  }
  made.append(...inside.filter((one) => one !== null && one !== undefined));
  return made;
}

export function list(name, things, line) {
  return things.length === 0 ? null : element("ul", { class: name }, ...things.map((one) => element("li", {}, ...line(one))));
}

/** A size as people say it. */
export function sizeWords(bytes) {
  if (bytes < 1_000) return "under 1 kB";
  return bytes < 1_000_000 ? `${Math.round(bytes / 1_000)} kB` : `${(bytes / 1_000_000).toFixed(1)} MB`;
}

/** Put words on the clipboard, or into a field to be copied by hand where that is barred. */
export async function copyText(text, button) {
  try {
    await navigator.clipboard.writeText(text);
    button.textContent = "Copied";
  } catch {
    const field = element("textarea", { readonly: "", rows: "8" });
    field.value = text;
    button.after(field);
    field.select();
  }
}
