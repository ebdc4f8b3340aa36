// The element of embed.js, whatever its workers and its style sheet come from.

const FIELDS = ["equation", "conditions", "degree", "from", "to", "beside", "numbers", "candidate", "route", "depth", "figures", "unknown", "across", "up"];
const OTHERS = ["fragment", "show", "heading", "level"];
// So far beyond the window's edge a block is worked out.
const NEAR = "400px";
// So many elements at a time; laying out formulas takes most of a block's time.
const SLICE = 200;
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

    // A slice in each frame, so that the page stays at hand; a block that is there already keeps its
    // room meanwhile.
    #show(html) {
      const parsed = document.createElement("template");
      parsed.innerHTML = html;
      const whole = parsed.content.firstElementChild;
      const section = whole.cloneNode(false);
      section.dataset.state = "filling";
      const old = this.shadowRoot.querySelector(".block");
      if (old) section.style.minHeight = `${old.offsetHeight}px`;
      this.shadowRoot.replaceChildren(section);
      const work = pieces(whole, section);
      this.#work = work;
      const fill = () => {
        for (let left = SLICE; left > 0; ) {
          // Something newer is shown.
          if (this.#work !== work) return;
          const { value, done } = work.next();
          if (done) {
            section.style.minHeight = "";
            section.dataset.state = whole.dataset.state;
            this.dispatchEvent(new Event("worked"));
            return;
          }
          const [place, piece] = value;
          left -= 1 + (piece.querySelectorAll?.("*").length ?? 0);
          place.append(piece);
        }
        requestAnimationFrame(fill);
      };
      fill();
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

/** What a block consists of, one after the other, each with its place: the ledger row by row. */
function* pieces(whole, section) {
  for (const child of [...whole.childNodes]) {
    if (child.classList?.contains("ledger")) {
      const ledger = child.cloneNode(false);
      section.append(ledger);
      for (const row of [...child.childNodes]) yield [ledger, row];
    } else {
      yield [section, child];
    }
  }
}
