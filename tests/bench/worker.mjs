// Asks the page's own module, in node as in the page's worker, and times the answers:
//   node worker.mjs SITE [REPEATS] < FRAGMENTS
// One address fragment (what stands behind # in the page's address) a line. Prints a JSON line for
// each: milliseconds of processor time until the ledger and until the whole answer (the least of
// REPEATS runs, after one that warms up when there are several), and the bytes of both replies.
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { pathToFileURL } from "node:url";

const [, , site, repeats = "1"] = process.argv;

// The module asks whether it runs in a worker before it posts.
globalThis.DedicatedWorkerGlobalScope = class {
  static [Symbol.hasInstance](value) {
    return value === globalThis;
  }
};
let replies = [];
const processorTime = () => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};
globalThis.postMessage = (message) => replies.push({ at: processorTime(), message });

const glue = await import(pathToFileURL(resolve(site, "web.js")));
await glue.default({ module_or_path: await WebAssembly.compile(readFileSync(resolve(site, "web.wasm"))) });
glue.join(await WebAssembly.compile(readFileSync(resolve(site, "more.wasm"))));
glue.prepare_worker();

let sequence = 0;
function ask(inputs) {
  // The worker keeps the last ledger with letters and would not send the same one again.
  glue.answer_question(sequence, "equation=y");
  replies = [];
  sequence += 1;
  const start = processorTime();
  glue.answer_question(sequence, inputs);
  // The first byte of a reply says what it is: 0 the ledger, 1 the picture, 2 a defect.
  if (replies.length !== 2 || replies.some(({ message }, kind) => message[0] !== kind)) {
    throw new Error(`no answer to ${inputs.slice(0, 200)}`);
  }
  const [ledger, picture] = replies;
  return [ledger.at - start, picture.at - start];
}

for (const inputs of readFileSync(0, "utf8").split("\n").filter(Boolean)) {
  const times = [];
  for (let run = 0; run < Number(repeats) + (repeats === "1" ? 0 : 1); run += 1) times.push(ask(inputs));
  const least = (stage) => Math.min(...times.slice(repeats === "1" ? 0 : 1).map((time) => time[stage]));
  console.log(JSON.stringify({
    ledger_ms: Number(least(0).toFixed(3)),
    answer_ms: Number(least(1).toFixed(3)),
    bytes: replies.map(({ message }) => message.length),
  }));
}
