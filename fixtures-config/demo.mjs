// `npm run demo`: builds Jawline and checks the four demo programs, two clean and two with ten faults each.
import { spawnSync } from "node:child_process";
import * as path from "node:path";
import { fileURLToPath } from "node:url";

const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), "..");
const run = (args) => spawnSync(process.execPath, args, { cwd: root, stdio: "inherit" }).status ?? 1;

if (run(["server/build.mjs"]) !== 0) process.exit(1);

const programs = [
  ["Twelve levers on a plate, first and second operation mixed", "fixtures-config/demo/plate/lever.nc", 0],
  ["The same program after ten slips of a colleague", "fixtures-config/demo/plate/lever-faulty.nc", 1],
  ["Sixteen end caps on a tombstone of four faces", "fixtures-config/demo/tombstone/end-cap.nc", 0],
  ["The same program after ten slips", "fixtures-config/demo/tombstone/end-cap-faulty.nc", 1],
];
let surprises = 0;
for (const [title, program, expected] of programs) {
  console.log(`\n━━ ${title} ━━\n   jawline check ${program}\n`);
  if (run(["server/dist/cli.js", "check", program]) !== expected) surprises++;
}
console.log(`
What to try next
  npm run try                                                       the demo in a real VS Code workbench: type a wrong P, hover, correct it
  node server/dist/cli.js stations fixtures-config/demo/plate/plate.fixture.json        where every station stands, and its notches
  node server/dist/cli.js offsets fixtures-config/demo/plate/plate.fixture.json --format g10   the offset block for the control
  node server/dist/cli.js check --explain fixtures-config/demo/plate/lever.nc           the least clearances and deepest cut of every visit
  node server/dist/cli.js trace fixtures-config/demo/tombstone/end-cap.nc               every move, one JSON object a line
Jawline is a review aid, not a proof: prove every program out with the guards closed.`);
process.exitCode = surprises === 0 ? 0 : 1;
