// The element of embed.js, whatever its workers and its style sheet come from.

import { fill } from "./slices.js";

const FIELDS = ["equation", "conditions", "degree", "from", "to", "beside", "numbers", "candidate", "route", "depth", "figures", "digits", "unknown", "across", "up"];
const OTHERS = ["fragment", "show", "heading", "level"];
// So far beyond the window's edge a block is worked out.
const NEAR = "400px";
const HOST = ":host { display: block } :host([hidden]) { display: none } .wait { min-height: 6em }";

/** Makes the element known. `pool` answers for all of them; `style` promises their style sheet's text. */
export function define(pool, style) {
  if (customElements.get("ordinary-point")) return;
  let made = 0;
  const sheet = new CSSStyleSheet();
  const styled = style.then((text) => sheet.replace(HOST + text));
  const seen = new IntersectionObserver(
    (entries) => {
      for (const { isIntersecting, target } of entries) if (isIntersecting) target.begin();
    },
    { rootMargin: NEAR },
  );

  class Worked extends HTMLElement {
    static observedAttributes = [...FIELDS, ...OTHERS];
    #prefix = `block-${++made}-`;
    #begun = false;
    #due = false;
    #work;

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

    // A block that is there already keeps its room while the new one fills.
    #show(html) {
      const work = {};
      this.#work = work;
      let shown;
      fill(html, {
        // Something newer may be shown.
        wanted: () => this.#work === work,
        begin: (section) => {
          shown = section;
          section.dataset.state = "filling";
          const old = this.shadowRoot.querySelector(".block");
          if (old) section.style.minHeight = `${old.offsetHeight}px`;
          this.shadowRoot.replaceChildren(section);
        },
        end: ({ dataset }) => {
          shown.style.minHeight = "";
          shown.dataset.state = dataset.state;
          this.dispatchEvent(new Event("worked"));
        },
      });
    }

    #fail(error) {
      this.#work = undefined;
      const words = document.createElement("p");
      words.textContent = `Nothing can be shown here: ${error.message}`;
      this.shadowRoot.replaceChildren(words, document.createElement("slot"));
    }
  }

  customElements.define("ordinary-point", Worked);
}
