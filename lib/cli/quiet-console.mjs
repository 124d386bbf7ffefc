const SHOWN_FRAMES = 6;
/** A browser that went away in the middle, which is its right. */
const GONE = new Set(["ECONNRESET", "EPIPE", "ECONNABORTED", "ABORT_ERR"]);

/**
 * Libraries write whole error messages to the console, and those can hold a name, an address or a
 * token. From here on the console says only what kind of error it was and where in the code; a failed
 * request is logged by `instrumentation.ts`, so Next's own line about it is left out.
 */
export function quietConsole() {
  for (const level of ["log", "info", "debug", "trace", "dir", "table"]) console[level] = () => {};
  for (const level of ["warn", "error"]) console[level] = (...said) => report(level, said);
}

/** @param {string} level @param {readonly unknown[]} said */
function report(level, said) {
  const error = said.find((part) => part instanceof Error);
  const words = said.filter((part) => typeof part === "string").join(" ");
  if (!(error instanceof Error) || GONE.has(error.code) || (words.includes("⨯") && !words.includes("unhandledRejection"))) return;
  const where = (error.stack ?? "").split("\n").filter((line) => /^\s+at /.test(line)).slice(0, SHOWN_FRAMES);
  const line = { at: new Date().toISOString(), event: "error", level, kind: error.name, code: error.code, where: where.map((frame) => frame.trim()) };
  process.stderr.write(`${JSON.stringify(line)}\n`);
}
