/** @typedef {{ passed: number, failed: number, skipped: number }} Count */

/**
 * Counts a Vitest JSON report. A file that could not even be loaded holds no tests and counts as one failure.
 * @param {any} report null when none was written
 * @param {number} exitCode
 * @returns {Count}
 */
export function countVitest(report, exitCode) {
  if (!report) return { passed: 0, failed: 1, skipped: 0 };
  const unloaded = report.testResults.filter((file) => file.status === "failed" && !file.assertionResults.some(({ status }) => status === "failed"));
  return checked({
    passed: report.numPassedTests,
    failed: report.numFailedTests + unloaded.length,
    skipped: report.numPendingTests + report.numTodoTests,
  }, exitCode);
}

/**
 * Counts a Playwright JSON report. A test that passed only when tried again counts as failed, and so does
 * an error outside any test, such as a server that did not start.
 * @param {any} report null when none was written
 * @param {number} exitCode
 * @returns {Count}
 */
export function countPlaywright(report, exitCode) {
  if (!report) return { passed: 0, failed: 1, skipped: 0 };
  const { expected, unexpected, flaky, skipped } = report.stats;
  return checked({ passed: expected, failed: unexpected + flaky + report.errors.length, skipped }, exitCode);
}

/** A tool that ended badly has failed, whatever its report says. @param {Count} count @param {number} exitCode */
function checked(count, exitCode) {
  return exitCode !== 0 && count.failed === 0 ? { ...count, failed: 1 } : count;
}

/** @param {readonly Count[]} counts @returns {Count} */
export function addUp(counts) {
  const sum = (key) => counts.reduce((total, count) => total + count[key], 0);
  return { passed: sum("passed"), failed: sum("failed"), skipped: sum("skipped") };
}

/** @param {Count} total */
export function lastLine({ passed, failed, skipped }) {
  return `${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ""}`;
}
