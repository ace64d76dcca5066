import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    root: fileURLToPath(new URL("..", import.meta.url)),
    include: ["tests/{cases,unit,property,bench,cli,lsp}/**/*.test.ts"],
    testTimeout: 30_000,
    pool: "forks",
  },
});
