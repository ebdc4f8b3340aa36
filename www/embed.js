// <ordinary-point equation="y'' = x y" conditions="y(0) = 1, y'(0) = 0" degree="6"></ordinary-point>
//
// A problem worked out where the element stands, in any page: one module and one pool of workers
// for all of them, each worked out when it comes near the reader's view. The attributes are those of
// an address of the worksheet, and
//   fragment  such an address's part behind #; other attributes count more than what it says
//   show      names of parts: problem ledger polynomial plot errors table far
//   heading   a heading in place of the usual one
//   level     its level, 1 to 6 (2)
// A change of any of them shows in the block. `worked` is fired on the element whenever it has been
// filled.

import { Pool } from "./pool.js";

const BASE = new URL(".", import.meta.url);
const FIELDS = ["equation", "conditions", "degree", "from", "to", "beside", "numbers", "candidate", "route", "depth", "figures", "unknown", "across", "up"];
const OTHERS = ["fragment", "show", "heading", "level"];
// So far beyond the window's edge a block is worked out.
const NEAR = "400px";

const pool = new Pool(BASE);
let made = 0;

// Faces belong to the whole document; a shadow root's style sheet cannot bring them.
for (const [family, file, style] of [
  ["Ordinary Point Text", "pagella-regular", "normal"],
  ["Ordinary Point Text", "pagella-italic", "italic"],
  ["Ordinary Point Math", "pagella-math", "normal"],
]) {
  document.fonts.add(new FontFace(family, `url("${new URL(`fonts/${file}.woff2`, BASE).href}")`, { style, display: "swap" }));
}

const HOST = ":host { display: block } :host([hidden]) { display: none } .wait { min-height: 6em }";
const sheet = new CSSStyleSheet();
const styled = fetch(new URL("block.css", BASE))
  .then((answer) => answer.text())
  .then((text) => sheet.replace(HOST + text));

const seen = new IntersectionObserver(
  (entries) => {
    for (const { isIntersecting, target } of entries) if (isIntersecting) target.begin();
  },
  { rootMargin: NEAR },
);

class OrdinaryPoint extends HTMLElement {
  static observedAttributes = [...FIELDS, ...OTHERS];
  #prefix = `block-${++made}-`;
  #begun = false;
  #due = false;

  constructor() {
    super();
    const root = this.attachShadow({ mode: "open" });
    root.adoptedStyleSheets = [sheet];
    // What the page has put into the element stands there until the block does.
    root.innerHTML = '<div class="wait"><slot></slot></div>';
  }

  connectedCallback() {
    seen.observe(this);
  }

  disconnectedCallback() {
    seen.unobserve(this);
    pool.withdraw(this);
    this.#begun = false;
  }

  attributeChangedCallback() {
    if (this.#begun) this.#ask();
  }

  /** Works the problem out: the element has come near the view. */
  begin() {
    seen.unobserve(this);
    this.#begun = true;
    this.#ask();
  }

  // Several attributes that change together ask once.
  #ask() {
    if (this.#due) return;
    this.#due = true;
    queueMicrotask(async () => {
      this.#due = false;
      try {
        const html = await pool.ask(this, this.#block());
        await styled;
        // A newer question has taken its place, or the element has left the page.
        if (html !== undefined && this.#begun) this.#show(html);
      } catch (error) {
        this.#fail(error);
      }
    });
  }

  #block() {
    const fragment = (this.getAttribute("fragment") ?? "").replace(/^#/, "");
    const own = new URLSearchParams();
    for (const name of FIELDS) if (this.hasAttribute(name)) own.set(name, this.getAttribute(name));
    const level = Number.parseInt(this.getAttribute("level") ?? "2", 10) || 2;
    return [`${fragment}&${own}`, this.getAttribute("show") ?? "", this.#prefix, this.getAttribute("heading") ?? "", Math.min(Math.max(level, 1), 6)];
  }

  #show(html) {
    this.shadowRoot.innerHTML = html;
    this.dispatchEvent(new Event("worked"));
  }

  #fail(error) {
    const words = document.createElement("p");
    words.textContent = `The worksheet could not be started: ${error.message}`;
    this.shadowRoot.replaceChildren(words, document.createElement("slot"));
  }
}

if (!customElements.get("ordinary-point")) customElements.define("ordinary-point", OrdinaryPoint);
