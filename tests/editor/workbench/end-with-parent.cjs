// Preloaded into the workbench server: when the process that started it is gone (a kill -9 included), the pipe closes and
// the server's whole process group ends with it.
if (process.env.JAWLINE_PARENT_PIPE) {
  // Not for the extension host and the other processes that the server starts.
  delete process.env.JAWLINE_PARENT_PIPE;
  process.stdin.on("close", () => {
    try {
      process.kill(-process.pid, "SIGKILL");
    } catch {
      process.exit(1);
    }
  });
  process.stdin.resume();
}
