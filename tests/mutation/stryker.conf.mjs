// Stryker's configuration. FOLDER names the folder whose tests run and, unless FILES names others, whose files are broken.
const folder = process.env.FOLDER ?? "{geometry,fixture,checks}";
const files = process.env.FILES?.split(",").map((f) => `server/src/engine/${folder}/${f}`) ?? [`server/src/engine/${folder}/**/*.ts`];
// Runs beside each other, as for two folders, need folders of their own for copies and reports.
const name = process.env.NAME ?? process.env.FOLDER ?? "all";

export default {
  testRunner: "in-process",
  plugins: ["./tests/mutation/runner.mjs"],
  ignorers: ["wording"],
  tsconfigFile: "none",
  // What is not broken is left as it is written, which is twice as fast as code with a switch at every place.
  mutate: [...files, "!**/*.generated.ts", "!server/src/engine/checks/samples.ts"],
  coverageAnalysis: "perTest",
  concurrency: 1,
  timeoutMS: 2000,
  // The copies of runs beside this one are none of its files, and go away while it copies.
  ignorePatterns: [".stryker-tmp", "reports"],
  tempDirName: `.stryker-tmp/${name}`,
  reporters: ["json", "clear-text"],
  jsonReporter: { fileName: `reports/mutation/${name}.json` },
  clearTextReporter: { logTests: false, allowColor: false },
};
