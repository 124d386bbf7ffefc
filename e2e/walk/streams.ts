import { createHash } from "node:crypto";
// What names an address of a stream, so that no cache gives one for another; the package has no other door to it.
import { computeCacheBustingSearchParam } from "next/dist/shared/lib/router/utils/cache-busting-search-param.js";
import type { Answer } from "@/e2e/walk/request";

/** `gives`: the page to whom it lets in; the page past its layouts, which send people to their own side for comfort; the places of its parts alone, the same for everybody; nothing to anybody. */
export type Stream = { readonly what: string; readonly gives: "page" | "part" | "places" | "nothing"; readonly isOfProxy?: true; readonly path: string; readonly headers: Readonly<Record<string, string>> };

/**
 * The framework's own addresses of one page, as its browser code and its build name them (Next 16.4): the page as a stream, that
 * stream from its last segment on as if the rest were there already, what is fetched beforehand, whole and by
 * segments, and the same written as paths, which by advisories of 2026 once led past a proxy.
 */
export async function streamsOf(route: string, path: string, buildId: string): Promise<readonly Stream[]> {
  const segments = route.split("/").filter(Boolean);
  const given = path.split("/").filter(Boolean);
  const tree = segments.reduceRight<unknown>(
    (inside, segment, at) => [segment.startsWith("[") ? [segment.slice(1, -1), given[at], "d", null] : segment, { children: inside }, null, null],
    ["__PAGE__", {}, null, "refetch"],
  );
  const page = `/${segments.map((segment, at) => (segment.startsWith("[") ? `$d$${segment.slice(1, -1)}` : given[at])).join("/")}/__PAGE__`;
  const asked = async (what: string, gives: Stream["gives"], ahead?: "1", segment?: string, at?: unknown): Promise<Stream> => {
    const state = at === undefined ? undefined : encodeURIComponent(JSON.stringify(at));
    const key = await computeCacheBustingSearchParam(ahead, segment, state, undefined);
    const more = { ...(ahead ? { "Next-Router-Prefetch": ahead } : {}), ...(segment ? { "Next-Router-Segment-Prefetch": segment } : {}), ...(state ? { "Next-Router-State-Tree": state } : {}) };
    return { what, gives, path: `${path}?_rsc${key ? `=${key}` : ""}`, headers: { RSC: "1", ...more } };
  };
  return [
    await asked("stream", "page"),
    await asked("stream of one segment", "part", undefined, undefined, ["", { children: tree }, null, null]),
    await asked("prefetch", "places", "1"),
    await asked("prefetch of the tree", "places", "1", "/_tree"),
    await asked("prefetch of one segment", "places", "1", page),
    // Where the last part is an id, that of nobody.
    { what: "path of the stream", gives: route.endsWith("]") ? "page" : "nothing", path: `${path}.rsc`, headers: {} },
    { what: "path of a segment", gives: "nothing", path: `${path}.segments${page}.segment.rsc`, headers: { RSC: "1" } },
    { what: "data of the older router", gives: "page", isOfProxy: true, path: `/_next/data/${buildId}${path}.json`, headers: {} },
  ];
}

/** Ended by the framework inside a stream, which has begun with 200: not there, or led elsewhere. */
export const endedIn = ({ body }: Answer): string => /"digest":"NEXT_(?:HTTP_ERROR_FALLBACK;(404)|REDIRECT;\w+;([^;"]*))/.exec(body)?.slice(1).find(Boolean) ?? "";

/** How deep a row is told apart by the rows that it names. */
const DEPTH = 6;

/**
 * A stream without what is new in each: nonces, the ids of requests, what is left of a sign-in. Its rows come in no fixed order and are
 * numbered as they come, so each is named here by what it says, and what the rows say that it names.
 */
export function steady(stream: string): string {
  const lines = stream.replaceAll(/"nonce":"[^"]*"/g, "").replaceAll(/"[\w-]{21}[vm]"/g, '"request"').replaceAll(/"leftMs":\d+/g, '"leftMs"').split("\n")
    .map((line) => /^([0-9a-f]+):(.*)$/.exec(line) ?? ["", "", line]);
  let names = new Map(lines.map(([, row = ""]) => [row, ""]));
  const renamed = (said: string): string => said.replaceAll(/"\$([A-Z@]?)([0-9a-f]+)(?=[":])/g, (whole, how: string, row: string) => (names.has(row) ? `"$${how}${names.get(row)}` : whole));
  for (let depth = 0; depth < DEPTH; depth += 1) names = new Map(lines.map(([, row = "", said = ""]) => [row, row && createHash("sha256").update(renamed(said)).digest("base64url").slice(0, 8)]));
  return lines.map(([, row = "", said = ""]) => `${names.get(row)}:${renamed(said)}`).sort().join("\n");
}
