import { createHash } from "node:crypto";
import { appendFileSync } from "node:fs";
import type { Answer } from "@/e2e/walk/request";

/** What one walk found at one door for one kind of person, free of ids, nonces and ports: two walks compare it. */
export type Cell = { readonly cell: string; readonly status: number; readonly location: string; readonly policy: string; readonly refusal: string };

/** A proof keeps what a walk finds. */
const FILE = process.env["WALK_CELLS"];

export function note(cell: string, { status, location, headers, body }: Answer, origin: string): void {
  if (!FILE) return;
  const noted: Cell = {
    cell, status, location: plain(location.replace(origin, "")), policy: plain(String(headers["content-security-policy"] ?? "")),
    // What a page says to whom it lets in changes with the day of the demo, and a stream names the build it is of.
    refusal: status < 400 || String(headers["content-type"]).startsWith("text/x-component") ? "" : createHash("sha256").update(plain(readable(body))).digest("hex").slice(0, 16),
  };
  appendFileSync(FILE, `${JSON.stringify(noted)}\n`);
}

const plain = (text: string): string => text.replaceAll(/[0-9a-f]{8}-[0-9a-f-]{27}/g, "ID").replaceAll(/'nonce-[^']*'/g, "'nonce'").replaceAll(/_rsc=[\w-]+/g, "_rsc").replaceAll(/\/_next\/(?:static|data)\/[^"]+/g, "/_next");

/** What a reader sees of a page: words without markup's scripts and nonces. */
export const readable = (body: string): string => body.replace(/<script\b[\s\S]*?<\/script>/g, "").replace(/\s*nonce="[^"]*"/g, "").replace(/\s+/g, " ");
