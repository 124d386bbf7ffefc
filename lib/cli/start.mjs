/**
 * npm start: from a fresh clone to a running app. Installs, builds, migrates and fills the demo, each
 * only when needed, then serves: this very process is the app, and the door before it is its child. Runs
 * before anything is installed, so it and all it imports at once use Node's own modules only.
 */
import { buildApp } from "./build-stamp.mjs";
import { quietConsole } from "./quiet-console.mjs";
import { makeReady, root } from "./ready.mjs";
import { run } from "./refusal.mjs";
import { serve } from "./serve.mjs";

const PARENT_LOOK_MS = 500;

await run(async () => {
  const { settings, isDemo, lock } = await makeReady(process.env, buildApp);
  process.env.NODE_ENV = "production";
  quietConsole();
  const server = await serve({ root, settings });
  const end = (code) => {
    closeDatabase();
    lock.release();
    process.exit(code);
  };
  stopOnSignal(server, end);
  void server.lost.then(() => {
    process.stderr.write(`${JSON.stringify({ at: new Date().toISOString(), event: "door-lost" })}\n`);
    end(1);
  });
  process.stdout.write(`Trueside${isDemo ? " (demo)" : ""} is at ${settings.publicUrl.origin}\n`);
});

/** The first signal drains, the second ends at once. */
function stopOnSignal(server, end) {
  let isStopping = false;
  const onSignal = async () => {
    if (isStopping) process.exit(1);
    isStopping = true;
    await server.stop();
    end(0);
  };
  process.on("SIGTERM", onSignal).on("SIGINT", onSignal);
  if (process.env.npm_lifecycle_event === "start") stopWithParent(onSignal);
}

/** The app's own connection, as `db/client.ts` keeps it: closed, its log of writes is all in the database. */
function closeDatabase() {
  globalThis[Symbol.for("trueside.database")]?.db.$client.close();
}

/** A signal to npm reaches only the shell between npm and this process: its end is our signal. */
function stopWithParent(onSignal) {
  const parent = process.ppid;
  const watch = setInterval(() => {
    if (process.ppid === parent) return;
    clearInterval(watch);
    void onSignal();
  }, PARENT_LOOK_MS);
  watch.unref();
}
