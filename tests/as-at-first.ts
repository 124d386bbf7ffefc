import { vi } from "vitest";

// Runs before each file of tests. Files share a process: each finds the settings, the clock and the globals that the first one found.
const FIRST = Symbol.for("trueside.tests.settings");
const shared = globalThis as { [FIRST]?: NodeJS.ProcessEnv }; // a symbol of our own on the global object
const first = (shared[FIRST] ??= { ...process.env });

vi.useRealTimers();
vi.unstubAllGlobals();
vi.unstubAllEnvs();
vi.restoreAllMocks();
for (const name of Object.keys(process.env)) if (!(name in first)) delete process.env[name];
Object.assign(process.env, first);
