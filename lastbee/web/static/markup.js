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

/** Open whatever is folded over a part of the page. */
export function unfold(part) {
  for (let over = part.closest("details"); over; over = over.parentElement.closest("details")) over.open = true;
}

/** Words as a sentence of their own. */
export function sentence(words) {
  return words[0].toUpperCase() + words.slice(1).replace(/\.?$/, ".");
}

/** A size as people say it. */
export function sizeWords(bytes) {
  if (bytes < 1_000) return "under 1 kB";
  if (bytes < 1_000_000) return `${Math.round(bytes / 1_000)} kB`;
  const megabytes = bytes / 1_000_000;
  return megabytes < 1_000 ? `${megabytes.toFixed(1)} MB` : `${(megabytes / 1_000).toFixed(1)} GB`;
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
