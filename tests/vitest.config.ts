import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    root: new URL("..", import.meta.url).pathname,
    include: ["tests/{cases,unit,property,bench,cli,lsp}/**/*.test.ts"],
    testTimeout: 30_000,
    pool: "forks",
  },
});
