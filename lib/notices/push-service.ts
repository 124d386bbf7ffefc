import "server-only";
import { lookup } from "node:dns/promises";
import { request } from "node:https";
import { isIP, type LookupFunction } from "node:net";
import { isPublicAddress } from "@/lib/notices/public-address";

export type Asked = { readonly endpoint: URL; readonly headers: Readonly<Record<string, string>>; readonly body: Buffer };
/** `afterMs`: how long the service asks to be left alone; 0 when it says nothing. */
export type Answered = { readonly status: number; readonly afterMs: number };
export type Ask = (asked: Asked) => Promise<Answered>;

const LIMIT_MS = 10_000;
const MOST_AFTER_MS = 4 * 3_600_000;

type Found = readonly { readonly address: string; readonly family: number }[];
/** What a test puts in the place of the world: nothing else may, and no setting does. */
export type World = {
  readonly find: (host: string) => Promise<Found>;
  readonly isPublic: (address: string) => boolean;
  readonly port: number;
  readonly rejectUnauthorized: boolean;
};
const WORLD: World = { find: (host) => lookup(host, { all: true }), isPublic: isPublicAddress, port: 443, rejectUnauthorized: true };

/**
 * One POST over TLS to the address a browser brought. The connection goes to the very addresses that were
 * looked at, and to none unless all are public; a redirect is an answer like any other and never
 * followed; of what the service says only the status and `Retry-After` are read.
 */
export const pushServiceIn = (world: Partial<World> = {}): Ask => {
  const { find, isPublic, port, rejectUnauthorized } = { ...WORLD, ...world };
  const safeLookup: LookupFunction = (host, options, done) => {
    find(host).then((found) => {
      const [first] = found;
      if (!first || !found.every(({ address }) => isPublic(address))) throw Object.assign(new Error("not a public address"), { code: "EPRIVATE" });
      if (options.all) done(null, [...found]);
      else done(null, first.address, first.family);
    }).catch((error: NodeJS.ErrnoException) => done(error, []));
  };
  return ({ endpoint, headers, body }) => new Promise((resolve, reject) => {
    // What is no name is never looked up, and so would not be looked at.
    if (isIP(endpoint.hostname.replace(/^\[|\]$/g, ""))) throw Object.assign(new Error("not a name"), { code: "EPRIVATE" });
    const asking = request({
      method: "POST", protocol: "https:", hostname: endpoint.hostname, port, path: `${endpoint.pathname}${endpoint.search}`,
      headers, lookup: safeLookup, agent: false, rejectUnauthorized, signal: AbortSignal.timeout(LIMIT_MS),
    }, (answer) => {
      resolve({ status: answer.statusCode ?? 0, afterMs: afterMs(answer.headers["retry-after"]) });
      answer.destroy();
    });
    asking.on("error", reject);
    asking.end(body);
  });
};

export const askPushService = pushServiceIn();

/** RFC 9110, 10.2.3, in seconds; a date, which few send, counts as nothing said. */
const afterMs = (said: string | undefined): number => (said && /^\d{1,9}$/.test(said) ? Math.min(Number(said) * 1000, MOST_AFTER_MS) : 0);
