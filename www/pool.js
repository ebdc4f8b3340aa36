// At most two workers for everything on a page that asks for blocks: questions wait in line, one
// that has become superfluous is withdrawn, and a worker that dies is replaced.
//
//   const pool = new Pool(base);
//   const html = await pool.ask(key, [inputs, parts, prefix, heading, level]);
//
// `key` is whoever asks: a newer question with the same key takes the place of the older one, whose
// promise then answers `undefined`. `urgent` questions go to the front.

import { both } from "./modules.js";

const MOST = 2;
// So many deaths in a row: then it is not the question that is wrong.
const MOST_DEATHS = 3;

export class Pool {
  #source;
  #workers = [];
  #line = [];
  #parts;
  #deaths = 0;

  /**
   * @param source the site's folder (a URL), or what has `parts()` and `worker()`, which promise
   * the module's parts and a worker for them
   */
  constructor(source) {
    this.#source = source instanceof URL ? site(source) : source;
  }

  /**
   * Asks for a block; answers its HTML, or `{ sheet }`, the text of a worksheet file, where the packed
   * link that was asked for holds one, or nothing when a newer question has taken its place.
   */
  ask(key, block, urgent = false) {
    this.withdraw(key);
    return new Promise((answer, fail) => {
      this.#line[urgent ? "unshift" : "push"]({ key, block, answer, fail });
      this.#next();
    });
  }

  /** Takes back what `key` has asked. A worker that is at it is ended: its work is of no use. */
  withdraw(key) {
    this.#line = this.#line.filter((asked) => asked.key !== key || asked.answer());
    for (const worker of this.#workers) {
      if (worker.asked?.key === key) {
        worker.asked.answer();
        this.#end(worker);
      }
    }
    this.#next();
  }

  #next() {
    while (this.#line.length > 0) {
      let worker = this.#workers.find((worker) => !worker.asked);
      if (!worker) {
        if (this.#workers.length >= MOST) return;
        worker = this.#start();
      }
      worker.asked = this.#line.shift();
      const { block } = worker.asked;
      worker.began.then(() => worker.port?.postMessage({ block }), (error) => this.#died(worker, error));
    }
  }

  #start() {
    const worker = { began: undefined, port: undefined, asked: undefined };
    this.#workers.push(worker);
    this.#parts ??= this.#source.parts();
    worker.began = Promise.all([this.#parts, this.#source.worker()]).then(([parts, port]) => {
      // Ended before it had begun.
      if (!this.#workers.includes(worker)) return port.terminate();
      worker.port = port;
      port.onmessage = ({ data }) => this.#heard(worker, data);
      port.onerror = (event) => this.#died(worker, event.message);
      port.postMessage(parts);
    });
    return worker;
  }

  #heard(worker, data) {
    if (data.died !== undefined) return this.#died(worker, data.died);
    // The last words of a module that is about to trap.
    if (data.html === undefined && data.sheet === undefined && data.trouble === undefined) return;
    this.#deaths = 0;
    const asked = worker.asked;
    worker.asked = undefined;
    if (data.trouble === undefined) asked?.answer(data.html ?? { sheet: data.sheet });
    else asked?.fail(new Error(data.trouble));
    this.#next();
  }

  #died(worker, why) {
    const asked = worker.asked;
    this.#end(worker);
    asked?.fail(new Error(String(why ?? "the worker could not be started")));
    this.#deaths += 1;
    if (this.#deaths < MOST_DEATHS) return this.#next();
    // A later question may try again.
    this.#deaths = 0;
    this.#parts = undefined;
    for (const left of this.#line.splice(0)) left.fail(new Error("no worker could be started"));
  }

  #end(worker) {
    this.#workers = this.#workers.filter((other) => other !== worker);
    worker.asked = undefined;
    worker.port?.terminate();
  }
}

/** The module's parts and workers from the site's folder at `base`. */
function site(base) {
  return { parts: () => both(base), worker: () => begin(base) };
}

/**
 * A worker's script is taken by its address from its page's own origin only; elsewhere it is made
 * from its text, which imports nothing.
 */
async function begin(base) {
  const address = new URL("worker.js", base);
  if (self.origin === address.origin) return new Worker(address, { type: "module" });
  const answer = await fetch(new URL("worker-whole.js", base));
  if (!answer.ok) throw new Error(`${answer.url}: ${answer.status}`);
  return new Worker(URL.createObjectURL(new Blob([await answer.text()], { type: "text/javascript" })));
}
