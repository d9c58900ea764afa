// What the checks of accessibility ask a page; put into every page before its own scripts run.
globalThis.access = (() => {
  const PRESSED = "a[href], button, summary, select, textarea, input:not([type=hidden])";
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const isShown = (one) => one.checkVisibility({ visibilityProperty: true, opacityProperty: false });
  const named = (one) => `${one.tagName} ${one.name ?? ""} ${one.className?.baseVal ?? one.className} "${(one.innerText || one.value || one.getAttribute("aria-label") || "").slice(0, 50)}"`;

  /** What a finger presses for a control: the label drawn around it, the card that a link fills. */
  function targetOf(one) {
    if (one.matches("input[type=radio], input[type=checkbox]")) return one.closest("label") ?? one;
    return one.matches(".whole") ? one.closest(".card") : one;
  }

  function isInRunningText(one) {
    const around = one.parentElement;
    return one.matches("a") && getComputedStyle(one).display === "inline"
      && around.matches("p, li, span, dd") && around.innerText.length > one.innerText.length + 10;
  }

  function pressed() {
    const shown = all(PRESSED).filter((one) => isShown(one) && !one.matches(".skip, :disabled"));
    return [...new Set(shown.filter((one) => !isInRunningText(one)).map(targetOf))];
  }

  function tooSmall(least, leastOfAButton) {
    const large = ".button, button, .segment, .chips > *, .chips label, .ways a, input, select, textarea, .phone, .press";
    return pressed().flatMap((one) => {
      const { width, height } = one.getBoundingClientRect();
      const asked = one.matches(large) ? leastOfAButton : least;
      return Math.min(width, height) >= asked - 0.5 ? [] : [`${named(one)} ${Math.round(width)} x ${Math.round(height)}`];
    });
  }

  const ROLLS = (style) => ["auto", "scroll"].includes(style.overflowX);
  function rolls(one) {
    for (let at = one; at; at = at.parentElement) if (ROLLS(getComputedStyle(at)) && at !== document.documentElement && at !== document.body) return true;
    return false;
  }

  /** Whether a word does not fit, and would stick out if it were not broken anywhere. */
  function spills(one) {
    one.style.overflowWrap = "normal";
    const isSpilt = one.scrollWidth > one.clientWidth + 2;
    one.style.overflowWrap = "";
    return isSpilt;
  }

  /** Words that stick out of the page or are clipped. */
  function cutOff() {
    const wide = document.documentElement.scrollWidth - innerWidth;
    const found = wide > 0 ? [`the page rolls sideways by ${wide} px`] : [];
    for (const one of all("body *")) {
      if (!isShown(one) || one.closest("svg, .away, .skip") || rolls(one)) continue;
      const style = getComputedStyle(one);
      const hasText = [...one.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim());
      const { left, right } = one.getBoundingClientRect();
      if (hasText && (right > innerWidth + 1 || left < -1)) found.push(`sticks out: ${named(one)} ${Math.round(left)} to ${Math.round(right)}`);
      const clips = style.overflowX !== "visible" && style.display !== "inline";
      if (clips && hasText && (one.scrollWidth > one.clientWidth + 1 || one.scrollHeight > one.clientHeight + 2)) found.push(`clipped: ${named(one)}`);
      const isPressed = one.matches("button, .button, .segment, .chips a, .chips label, summary");
      if (isPressed && spills(one)) found.push(`spills: ${named(one)}`);
      const isNarrow = one.matches("select") && one.clientWidth < 2.2 * parseFloat(style.fontSize);
      if (isNarrow) found.push(`too narrow to read: ${named(one)}`);
    }
    return found;
  }

  function isAt(one, x, y) {
    const hit = document.elementFromPoint(x, y);
    return hit !== null && (one.contains(hit) || hit.contains(one) && !hit.matches("body, main, form, html, section") || hit.closest("label") !== null && hit.closest("label") === one.closest("label"));
  }

  /** Targets that something else covers even when they are brought to the middle. */
  function outOfReach() {
    return pressed().flatMap((one) => {
      one.scrollIntoView({ block: "center", inline: "center" });
      const { left, top, width, height } = one.getBoundingClientRect();
      return isAt(one, left + width / 2, top + height / 2) ? [] : [named(one)];
    });
  }

  /** Whether what has the focus shows it, and lies bare between the bars. */
  function focusFault() {
    const one = document.activeElement;
    if (one === document.body || one === null) return "";
    const drawn = targetOf(one);
    const style = getComputedStyle(drawn);
    const own = getComputedStyle(one);
    const isMarked = [style, own].some((at) => at.outlineStyle !== "none" && parseFloat(at.outlineWidth) >= 2);
    if (!isMarked) return `no mark of focus: ${named(one)}`;
    const { left, right, top, bottom } = drawn.getBoundingClientRect();
    const isWhole = top >= -1 && bottom <= innerHeight + 1 || bottom - top > innerHeight;
    if (!isWhole) return `not in sight: ${named(one)} ${Math.round(top)} to ${Math.round(bottom)}`;
    const x = (left + right) / 2;
    const hidden = [top + 4, (top + bottom) / 2, bottom - 4].filter((y) => y > 0 && y < innerHeight && !isAt(drawn, x, y));
    if (hidden.length === 0 || drawn.matches(".card") && hidden.length < 3) return "";
    return `covered: ${named(one)} by ${named(document.elementFromPoint(x, hidden[0]))} at ${hidden}`;
  }

  function moving() {
    return all("*").filter((one) => {
      const { transitionDuration, animationName } = getComputedStyle(one);
      return animationName !== "none" || transitionDuration.split(", ").some((each) => parseFloat(each) > 0);
    }).map(named);
  }

  /** How something is drawn, as far as colours of the reader's own leave it. */
  function look(one) {
    const parts = [getComputedStyle(one), getComputedStyle(one, "::before")];
    return parts.map((at) => [at.content, at.outlineStyle, at.outlineWidth, at.borderTopWidth, at.borderTopStyle, at.borderTopColor, at.borderBottomWidth, at.backgroundColor, at.fontWeight, at.textDecorationLine].join(" ")).join("; ");
  }

  /** Groups in which what is chosen looks like what is not. */
  function chosenAlike() {
    const groups = [".segments", ".stack", ".chips", ".units", ".ways", ".lengths"];
    const isChosen = (one) => one.matches("[aria-current], [aria-pressed=true]") || one.querySelector(":scope > :checked, :scope > a[aria-current]") !== null;
    const drawn = (one) => one.matches("li") ? one.firstElementChild : one;
    let pairs = 0;
    const alike = [];
    for (const group of groups.flatMap((one) => all(one)).filter(isShown)) {
      const options = [...group.children];
      const [chosen, other] = [options.find(isChosen), options.find((one) => !isChosen(one) && !one.matches(".is-blank"))];
      if (!chosen || !other) continue;
      pairs += 1;
      if (look(drawn(chosen)) === look(drawn(other))) alike.push(named(drawn(chosen)));
    }
    return { pairs, alike };
  }

  return { tooSmall, cutOff, outOfReach, focusFault, moving, chosenAlike };
})();
