// Keeps the top of a job's page up to date while its forecast is being computed.
const MOVING = ["waiting", "running"];
const SHORTEST_S = 1.5, LONGEST_S = 20;

let wait_s = SHORTEST_S;

function watch() {
  const shown = document.getElementById("standing");
  if (shown && MOVING.includes(shown.dataset.state)) setTimeout(renew, wait_s * 1000);
}

async function renew() {
  const shown = document.getElementById("standing");
  if (document.hidden) {
    document.addEventListener("visibilitychange", renew, { once: true });
    return;
  }
  try {
    const answer = await fetch(shown.dataset.standing, { headers: { Accept: "text/html" } });
    if (!answer.ok) throw new Error(`status ${answer.status}`);
    put(shown, await answer.text());
    wait_s = SHORTEST_S;
  } catch {
    wait_s = Math.min(LONGEST_S, 2 * wait_s); // no signal: ask less and less often
  }
  watch();
}

// Put the new part in place; what a person has opened stays open, and so does the focus.
function put(shown, text) {
  const fresh = new DOMParser().parseFromString(text, "text/html").getElementById("standing");
  if (!fresh) return;
  const opened = [...shown.querySelectorAll("details")].map((one) => one.open);
  [...fresh.querySelectorAll("details")].forEach((one, n) => { one.open = opened[n] ?? false; });
  const held = shown.contains(document.activeElement) ? document.activeElement : null;
  const place = held && [...shown.querySelectorAll("a, button, summary")].indexOf(held);
  shown.replaceWith(document.adoptNode(fresh));
  if (held) fresh.querySelectorAll("a, button, summary")[place]?.focus({ preventScroll: true });
}

watch();
