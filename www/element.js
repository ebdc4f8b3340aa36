// The element of embed.js, whatever its workers and its style sheet come from.

import { fill } from "./slices.js";

const FIELDS = ["equation", "conditions", "degree", "from", "to", "beside", "numbers", "candidate", "route", "depth", "figures", "digits", "unknown", "across", "up"];
const OTHERS = ["fragment", "file", "show", "heading", "level", "words"];
// So far beyond the window's edge a block is worked out.
const NEAR = "400px";
const HOST = ":host { display: block } :host([hidden]) { display: none } .wait { min-height: 6em }";

/**
 * Makes the element known. `pool` answers for all of them; `style` promises their style sheet's text;
 * `files`, if there is anything that reads worksheet files, promises what reader.js gives.
 */
export function define(pool, style, files) {
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
    #asked;
    #work;

    constructor() {
      super();
      const root = this.attachShadow({ mode: "open" });
      root.adoptedStyleSheets = [sheet];
      // What the page has put into the element stands there until the block does.
      root.innerHTML = '<div class="wait"><slot></slot></div>';
      // A place in a worksheet file: an address's fragment does not lead into a shadow root.
      root.addEventListener("click", (event) => {
        const link = event.target.closest('a[href^="#"]');
        const place = link && root.getElementById(decodeURIComponent(link.hash.slice(1)));
        if (!link) return;
        event.preventDefault();
        place?.scrollIntoView();
      });
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
        const asked = (this.#asked = {});
        try {
          const file = this.getAttribute("file");
          let html = file === null ? await pool.ask(this, this.#block()) : await this.#sheet(file);
          if (html?.sheet !== undefined) html = await this.#read(html.sheet, document.baseURI);
          await styled;
          // A newer question has taken its place, or the element has left the page.
          if (html !== undefined && this.#asked === asked && this.#begun) this.#show(html);
        } catch (error) {
          if (this.#asked === asked) this.#fail(error);
        }
      });
    }

    /** The worksheet file at an address. */
    async #sheet(file) {
      const address = new URL(file, document.baseURI);
      const answer = await fetch(address);
      if (!answer.ok) throw new Error(`${address}: the server answers ${answer.status}`);
      return this.#read(await answer.text(), address);
    }

    /** A worksheet file's text as HTML, with an element for each of its problems. */
    async #read(text, address) {
      if (!files) throw new Error("this is a worksheet file, and only single problems can stand here");
      const { read, style } = await files();
      if (!this.shadowRoot.adoptedStyleSheets.includes(style)) this.shadowRoot.adoptedStyleSheets.push(style);
      return read(text, address, this.#level());
    }

    #level() {
      const level = Number.parseInt(this.getAttribute("level") ?? "2", 10) || 2;
      return Math.min(Math.max(level, 1), 6);
    }

    #block() {
      const fragment = (this.getAttribute("fragment") ?? "").replace(/^#/, "");
      const own = new URLSearchParams();
      for (const name of FIELDS) if (this.hasAttribute(name)) own.set(name, this.getAttribute(name));
      const get = (name) => this.getAttribute(name) ?? "";
      return [`${fragment}&${own}`, get("show"), this.#prefix, get("heading"), this.#level(), get("words")];
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
          const old = this.shadowRoot.firstElementChild;
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
