import { vi } from "vitest";

// Runs before each file of tests. Files share a process: each finds the settings, the clock and the globals that the first one found.
const FIRST = Symbol.for("trueside.tests.settings");
/** What `lib/jobs/tally.mjs` counts for a whole process, by the real clock: a file that stops decoders would raise the alarms of the next. */
const TALLY = Symbol.for("trueside.tally");
const shared = globalThis as { [FIRST]?: NodeJS.ProcessEnv; [TALLY]?: unknown }; // symbols of our own on the global object
const first = (shared[FIRST] ??= { ...process.env });

delete shared[TALLY];
vi.useRealTimers();
vi.unstubAllGlobals();
vi.unstubAllEnvs();
vi.restoreAllMocks();
for (const name of Object.keys(process.env)) if (!(name in first)) delete process.env[name];
Object.assign(process.env, first);
