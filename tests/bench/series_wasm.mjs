// Times the series benchmark's problems inside WebAssembly: node series_wasm.mjs MODULE [DEGREE]
// prints one JSON line per problem, in the order of solver/benches/series/cases.rs.
import { readFileSync } from "node:fs";

const [, , module, degree = "1000"] = process.argv;
const { instance } = await WebAssembly.instantiate(readFileSync(module), {});
const { case_count, name_length, solve } = instance.exports;
const RUNS = 7;

for (let index = 0; index < case_count(); index += 1) {
  const times = [];
  let digits = 0;
  for (let run = 0; run < RUNS; run += 1) {
    const start = performance.now();
    digits = solve(index, Number(degree)) >>> 0;
    times.push(performance.now() - start);
  }
  console.log(JSON.stringify({ name_length: name_length(index), ms: Math.min(...times), digits }));
}
