// Times the enclosure benchmark's problems inside WebAssembly: node enclosures_wasm.mjs MODULE [DIGITS]
// prints one JSON line per problem, in the order of solver/benches/enclosures/cases.rs.
import { readFileSync } from "node:fs";

const [, , module, digits = "15"] = process.argv;
const { instance } = await WebAssembly.instantiate(readFileSync(module), {});
const { case_count, solve } = instance.exports;
// The first runs are those of code that is not compiled to its best yet.
const RUNS = 12;

for (let index = 0; index < case_count(); index += 1) {
  const times = [];
  let enclosed = 0;
  for (let run = 0; run < RUNS; run += 1) {
    const start = performance.now();
    enclosed = solve(index, Number(digits));
    times.push(performance.now() - start);
  }
  console.log(JSON.stringify({ enclosed, ms: Math.min(...times) }));
}
