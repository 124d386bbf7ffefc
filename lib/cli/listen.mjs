import { createServer } from "node:net";
import { Refusal } from "./refusal.mjs";

/** Resolves once it listens; a port or address that cannot be had is said in one sentence. @param {import("node:net").Server} server @param {string} host @param {number} port */
export function listen(server, host, port) {
  return new Promise((resolve, reject) => {
    server.once("error", (error) => {
      const sentences = {
        EADDRINUSE: `Port ${port} is already in use: stop what uses it, or set PORT to another number.`,
        EACCES: `Port ${port} may not be used by this account: set PORT to a number above 1023.`,
        EADDRNOTAVAIL: `HOST=${host} is not an address of this machine.`,
        ENOTFOUND: `HOST=${host} is not an address of this machine.`,
      };
      reject(sentences[error.code] ? new Refusal(sentences[error.code]) : error);
    });
    server.listen(port, host, resolve);
  });
}

/** Says so before a new start installs, builds and fills a demo for minutes. @param {string} host @param {number} port */
export async function refuseBusyPort(host, port) {
  const probe = createServer();
  await listen(probe, host, port);
  await new Promise((resolve) => {
    probe.close(resolve);
  });
}
