import { Refusal } from "./refusal.mjs";

const OLDEST = [20, 9];

/** Last day of security fixes of each line (Node.js release schedule; 20 as read, the others from memory). */
const END_OF_LIFE = { 20: "2026-04-30", 21: "2024-06-01", 22: "2027-04-30", 23: "2025-06-01", 24: "2028-04-30", 25: "2026-06-01" };

/**
 * Refuses a Node that cannot run the app; returns a warning sentence for one past its end of life, else null.
 * @param {string} version as in `process.versions.node`
 * @param {Date} now
 * @returns {string | null}
 */
export function checkNode(version, now) {
  const [major = 0, minor = 0] = version.split(".").map(Number);
  if (major < OLDEST[0] || (major === OLDEST[0] && minor < OLDEST[1])) {
    throw new Refusal(`Node ${version} is too old: install Node ${OLDEST.join(".")} or later, then start again.`);
  }
  const end = END_OF_LIFE[major];
  if (!end || now <= new Date(`${end}T23:59:59Z`)) return null;
  return `Node ${major} has had no security fixes since ${end}: use a supported Node before real families send photos.`;
}
