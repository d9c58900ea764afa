// What the device keeps of the app itself, so that it opens without signal: which requests are
// answered from what is kept, what is never kept, and what is thrown away again.

const SHORTEST_STAY = 60;

/**
 * How a request is answered: "file" (kept for good), "picture", "page", or "pass": by the office
 * alone, and never kept.
 */
export function sortOf({ method, url, mode, accept = "" }, origin) {
  const { origin: from, pathname } = new URL(url);
  if (method !== "GET" || from !== origin) return "pass";
  if (pathname.startsWith("/static/")) return "file";
  if (pathname.startsWith("/picture/")) return "picture";
  if (isPrivateToOffice(pathname)) return "pass";
  if (pathname === "/advice.json" || /^\/job\/[^/]+\/advice\.json$/.test(pathname)) return "page";
  const isPage = mode === "navigate" || accept.includes("text/html");
  return isPage && !/\.[a-z0-9]+$/.test(pathname) ? "page" : "pass";
}

function isPrivateToOffice(pathname) {
  return /^\/(export|import|join)(\/|$)/.test(pathname) || /\/standing$/.test(pathname);
}

/** Whether an answer may be kept as a page. */
export function isWorthKeeping(answer) {
  return (
    answer.status === 200 &&
    !answer.redirected &&
    answer.type !== "opaque" &&
    /^(text\/html|application\/json)/.test(answer.headers.get("content-type") ?? "") &&
    !/no-store/.test(answer.headers.get("cache-control") ?? "")
  );
}

/** Name of a file without its version. */
export function nameOfFile(pathname, names) {
  const [, , first, ...rest] = pathname.split("/");
  const versioned = rest.join("/");
  return names.has(versioned) ? versioned : [first, ...rest].join("/");
}

/** Mark a page as a copy, so that it can say so. */
export function asCopy(html) {
  return html.replace(/<html(?=[\s>])/i, "<html data-copy");
}

/**
 * What to fetch and what to throw away.
 *
 * @param {{url: string, stamp: string}[]} wanted what the office says is worth keeping
 * @param {Map<string, string>} stamps of what is kept by address, the oldest first; what was
 *   only looked at has an empty one
 */
export function plan(wanted, stamps) {
  const urls = new Set(wanted.map(({ url }) => url));
  const others = [...stamps.keys()].filter((url) => !urls.has(url));
  return {
    fetched: wanted.filter(({ url, stamp }) => stamps.get(url) !== stamp),
    dropped: others.slice(0, Math.max(0, others.length - SHORTEST_STAY)),
  };
}
