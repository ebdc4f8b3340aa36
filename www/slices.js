// Puts markup into a page a little in each frame, so that the page stays at hand. Everything on the
// page stands in one line, first come, first served.

// Elements that a frame adds: so many at first, and within these bounds as frames turn out.
const [FIRST, LEAST, MOST] = [150, 40, 600];
// Milliseconds that a frame with its layout and painting should take.
const GOAL = 10;
// An element with more in it goes in bit by bit.
const PIECE = 30;

const line = [];
let allowance = FIRST;
let running = false;

/**
 * Turns markup of one element into that element and hands it, still empty, to `begin`, which puts it
 * on the page; then fills it. `end` is called with what the markup's own element was when all of it
 * is there. While `wanted` answers no, nothing more is done.
 */
export function fill(html, { wanted, begin, end }) {
  line.push(slices(html, wanted, begin, end));
  if (running) return;
  running = true;
  requestAnimationFrame(frame);
}

function* slices(html, wanted, begin, end) {
  if (!wanted()) return;
  const parsed = document.createElement("template");
  parsed.innerHTML = html;
  // Reading it took most of a frame.
  yield MOST;
  const whole = parsed.content.firstElementChild;
  const shell = whole.cloneNode(false);
  if (!wanted()) return;
  begin(shell);
  for (const cost of pieces(whole, shell)) {
    yield cost;
    if (!wanted()) return;
  }
  end(whole);
  // The next one is read in a frame of its own.
  yield MOST;
}

/** Moves what is in an element into another, a piece at a time; how much each piece was. */
function* pieces(from, to) {
  for (const child of [...from.childNodes]) {
    const cost = weight(child);
    if (cost > PIECE && child instanceof HTMLElement) {
      const shell = child.cloneNode(false);
      to.append(shell);
      yield* pieces(child, shell);
    } else {
      to.append(child);
      yield cost;
    }
  }
}

/** Elements to lay out. What is folded away is only read. */
function weight(node) {
  const count = 1 + (node.getElementsByTagName?.("*").length ?? node.querySelectorAll?.("*").length ?? 0);
  return node.localName === "details" ? count / 8 : count;
}

// Paper waits for no frame: whatever has been answered is all there.
addEventListener("beforeprint", () => {
  while (line.length > 0) step();
});

/** Goes on with what stands first; how much that was. */
function step() {
  try {
    const { value, done } = line[0].next();
    if (!done) return value;
  } catch (error) {
    reportError(error);
  }
  line.shift();
  return 0;
}

function frame() {
  const begun = performance.now();
  for (let left = allowance; left > 0 && line.length > 0; ) left -= step();
  // Layout and painting come between this and the next task.
  setTimeout(() => {
    const took = performance.now() - begun;
    allowance = Math.min(Math.max(allowance * (took > GOAL ? 2 / 3 : 9 / 8), LEAST), MOST);
    running = line.length > 0;
    if (running) requestAnimationFrame(frame);
  });
}
