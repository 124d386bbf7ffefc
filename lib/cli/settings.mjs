import { isIP } from "node:net";
import { isAbsolute, resolve, sep } from "node:path";
import { readBucket } from "./bucket-settings.mjs";
import { Refusal } from "./refusal.mjs";

/**
 * @typedef {object} Settings
 * @property {string} host address to listen on
 * @property {number} port
 * @property {URL} publicUrl the only origin people use; every link and origin check is made from it
 * @property {string} dataDir absolute
 * @property {string | undefined} backupDir absolute; where the app keeps backups, when it is to make them
 * @property {Record<string, string>} bucket where media lie, as the app reads it; empty when they lie in the data folder
 * @property {string | undefined} mediaKeyFile absolute; the practice key, where it is kept outside the data folder
 * @property {boolean} trustsProxy whether the last hop of X-Forwarded-For says who a request is from
 * @property {boolean | undefined} demo as asked for; undefined when DEMO is not set
 */

/**
 * Reads every setting from the environment and refuses what cannot be meant.
 * @param {Record<string, string | undefined>} env
 * @returns {Settings}
 */
export function readSettings(env) {
  if (env.AUTH_TRUST_HOST) {
    throw new Refusal("Unset AUTH_TRUST_HOST: it would let a request choose the address in sign-in mails. Set PUBLIC_URL instead.");
  }
  const port = readPort(env.PORT || "3000");
  const host = env.HOST || "127.0.0.1";
  const publicUrl = readPublicUrl(env.PUBLIC_URL, host, port);
  if (env.NEXTAUTH_URL && env.NEXTAUTH_URL !== publicUrl.origin) {
    throw new Refusal("Unset NEXTAUTH_URL: it is made from PUBLIC_URL, and the two differ.");
  }
  const dataDir = resolve(env.DATA_DIR || "data");
  const backupDir = readBackupDir(env.BACKUP_DIR, dataDir);
  const mediaKeyFile = readKeyPath(env.MEDIA_KEY_FILE, "MEDIA_KEY_FILE", dataDir, backupDir);
  return { host, port, publicUrl, dataDir, backupDir, mediaKeyFile, bucket: readBucket(env, isLoopback), trustsProxy: readTrust(env.TRUST_PROXY), demo: readDemo(env.DEMO) };
}

/**
 * @param {string | undefined} text @param {string} name @param {...(string | undefined)} folders which must not hold it
 * @returns {string | undefined}
 */
export function readKeyPath(text, name, ...folders) {
  if (!text) return undefined;
  if (!isAbsolute(text)) throw new Refusal(`${name} must be the whole path of a file, such as /etc/trueside/practice-key.`);
  if (folders.some((folder) => folder && resolve(text).startsWith(`${folder}${sep}`))) throw new Refusal(`${name} must lie outside DATA_DIR and BACKUP_DIR: who takes those must not have the key.`);
  return resolve(text);
}

/**
 * The settings as the app reads them: the same names, resolved.
 * @param {Settings} settings
 * @param {boolean} isDemo what the data folder is
 */
export function settingsForApp({ host, port, publicUrl, dataDir, backupDir, mediaKeyFile, bucket }, isDemo) {
  return {
    HOST: host,
    PORT: String(port),
    PUBLIC_URL: publicUrl.origin,
    NEXTAUTH_URL: publicUrl.origin,
    DATA_DIR: dataDir,
    ...(backupDir ? { BACKUP_DIR: backupDir } : {}),
    ...bucket,
    ...(mediaKeyFile ? { MEDIA_KEY_FILE: mediaKeyFile } : {}),
    DEMO: isDemo ? "1" : "0",
    NEXT_TELEMETRY_DISABLED: "1",
  };
}

/**
 * The demo signs anyone in at the press of a button, so only this machine may reach it.
 * @param {Settings} settings
 */
export function refusePublicDemo({ host, publicUrl }) {
  if (!isLoopback(host) || !isLoopback(publicUrl.hostname)) {
    throw new Refusal("The demo lets anyone in, so it serves this machine only: unset HOST and PUBLIC_URL, or start a real practice with DEMO=0 and a new DATA_DIR.");
  }
}

/** @param {string} host a name or an address, IPv6 with or without brackets */
export function isLoopback(host) {
  const bare = host.replace(/^\[|\]$/g, "");
  return bare === "localhost" || bare === "::1" || (isIP(bare) === 4 && bare.startsWith("127."));
}

/** @param {string} text */
function readPort(text) {
  const port = Number(text);
  if (!/^\d{1,5}$/.test(text) || port < 1 || port > 65_535) throw new Refusal("PORT must be a whole number from 1 to 65535.");
  return port;
}

/** @param {string | undefined} text @param {string} host @param {number} port */
function readPublicUrl(text, host, port) {
  if (!text) {
    if (isLoopback(host)) return new URL(`http://localhost:${port}`);
    throw new Refusal(`Set PUBLIC_URL to the full address people type, such as https://practice.example: HOST=${host} is reachable from other machines.`);
  }
  const url = URL.canParse(text) ? new URL(text) : null;
  const isOrigin = url && (url.href === `${url.origin}/`) && ["http:", "https:"].includes(url.protocol);
  if (!isOrigin) throw new Refusal("PUBLIC_URL must be a full address without a path, such as https://practice.example.");
  if (url.protocol === "http:" && !isLoopback(url.hostname)) {
    throw new Refusal("PUBLIC_URL must begin with https:// because photos of children travel over it.");
  }
  return url;
}

/** @param {string | undefined} text @param {string} dataDir */
function readBackupDir(text, dataDir) {
  if (!text) return undefined;
  const dir = resolve(text);
  if (`${dir}${sep}`.startsWith(`${dataDir}${sep}`) || `${dataDir}${sep}`.startsWith(`${dir}${sep}`)) {
    throw new Refusal("BACKUP_DIR and DATA_DIR must not lie in one another: what takes one would take both. Best is another disk or machine.");
  }
  return dir;
}

/** @param {string | undefined} text */
function readDemo(text) {
  return readSwitch(text, "DEMO must be 0 (a real practice) or 1 (the demo).");
}

/** @param {string | undefined} text */
function readTrust(text) {
  return readSwitch(text, "TRUST_PROXY must be 0 (the connection says who asks) or 1 (the proxy in front does).") ?? false;
}

/** @param {string | undefined} text @param {string} sentence */
function readSwitch(text, sentence) {
  if (text === undefined || text === "") return undefined;
  if (text === "0" || text === "1") return text === "1";
  throw new Refusal(sentence);
}
