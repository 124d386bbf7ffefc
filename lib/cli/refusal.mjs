/** A reason not to start that the operator can act on: one sentence, exit code 1, no stack. */
export class Refusal extends Error {}

/**
 * Runs a command; a refusal ends it with its sentence on standard error and exit code 1.
 * @param {() => Promise<void>} command
 */
export async function run(command) {
  try {
    await command();
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    process.stderr.write(`${error.message}\n`);
    process.exit(1);
  }
}
