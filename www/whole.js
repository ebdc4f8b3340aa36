// The worksheet's page in one file.
import init, { start } from "./web.js";
import { follow, offer } from "./links.js";
import { module, worker } from "./inlined.js";

const compiled = await module();
await init({ module_or_path: compiled });
await follow();
start({ module: compiled }, worker);
offer(undefined);
