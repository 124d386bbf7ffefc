import { createHash, createHmac, timingSafeEqual } from "node:crypto";
import { createServer, type IncomingMessage, type ServerResponse } from "node:http";
import type { AddressInfo } from "node:net";

/** As a bucket on such a server may be set. */
export type Versioning = "Enabled" | "Suspended" | null;

type Kept = { readonly bytes: Buffer; readonly at: number };

/**
 * The few operations of the S3 protocol that media need, in memory, written after its public reference: objects by path, ranges,
 * listing in pages, whether versions are kept, signatures of version 4 over every request and its bytes. Nothing of our own
 * client's code is in it. `npm run prove -- bucket` asks the same of a whole server.
 */
export class BucketServer {
  readonly objects = new Map<string, Kept>();
  /** Method, and what of: what was asked for, in order. */
  readonly asked: string[] = [];
  /** Answers nothing more: every connection is cut. */
  isAway = false;
  /** How many objects it has room for; past that it refuses as a server whose disk is full. */
  room = Number.POSITIVE_INFINITY;
  versioning: Versioning = null;
  /** What its list does not show yet, as that of a server may lag behind. */
  readonly unlisted = new Set<string>();
  readonly secret = "a secret of the tests alone";
  readonly region = "eu-test-1";
  readonly keyId = "TESTKEY";
  readonly #server = createServer((request, response) => void this.#answer(request, response));

  constructor(readonly bucket: string, private readonly pageSize = 7) {}

  async open(): Promise<string> {
    await new Promise<void>((resolve) => void this.#server.listen(0, "127.0.0.1", resolve));
    return `http://127.0.0.1:${(this.#server.address() as AddressInfo).port}`; // it listens on a port
  }

  async close(): Promise<void> {
    this.#server.closeAllConnections();
    await new Promise((resolve) => void this.#server.close(resolve));
  }

  async #answer(request: IncomingMessage, response: ServerResponse): Promise<void> {
    if (this.isAway) return void request.socket.destroy();
    const chunks: Buffer[] = [];
    for await (const chunk of request) chunks.push(Buffer.from(chunk));
    const body = Buffer.concat(chunks);
    const url = new URL(request.url ?? "/", "http://bucket.test");
    const [, bucket, key] = /^\/([^/]+)\/?(.*)$/s.exec(decodeURIComponent(url.pathname)) ?? [];
    this.asked.push(`${request.method} ${key ?? ""}${request.headers.range ? ` ${request.headers.range}` : ""}`);
    const refusal = this.#refusalOf(request, url, body) ?? (bucket === this.bucket ? null : "NoSuchBucket");
    if (refusal) return fail(response, refusal === "NoSuchBucket" ? 404 : 403, refusal);
    if (key) return this.#object(request, response, key, body);
    if (request.method === "GET" && url.searchParams.has("versioning")) return xml(response, `<VersioningConfiguration>${this.versioning ? `<Status>${this.versioning}</Status>` : ""}</VersioningConfiguration>`);
    if (request.method === "GET" && url.searchParams.get("list-type") === "2") return this.#list(response, url.searchParams);
    return fail(response, 501, "NotImplemented");
  }

  #object(request: IncomingMessage, response: ServerResponse, key: string, body: Buffer): void {
    if (request.method === "PUT") {
      if (this.objects.size >= this.room) return fail(response, 507, "InsufficientStorage");
      this.objects.set(key, { bytes: body, at: Date.now() });
      return void response.writeHead(200, { ETag: `"${createHash("md5").update(body).digest("hex")}"` }).end();
    }
    if (request.method === "DELETE") {
      this.objects.delete(key);
      return void response.writeHead(204, this.versioning ? { "x-amz-delete-marker": "true", "x-amz-version-id": "one" } : {}).end();
    }
    if (request.method !== "GET") return fail(response, 501, "NotImplemented");
    const found = this.objects.get(key);
    if (!found) return fail(response, 404, "NoSuchKey");
    const wanted = /^bytes=(\d+)-(\d+)$/.exec(request.headers.range ?? "");
    if (!wanted) return void response.writeHead(200, { "Content-Length": found.bytes.length, "Last-Modified": new Date(found.at).toUTCString() }).end(found.bytes);
    const [start, end] = [Number(wanted[1]), Math.min(Number(wanted[2]) + 1, found.bytes.length)];
    if (start >= found.bytes.length) return fail(response, 416, "InvalidRange");
    response.writeHead(206, { "Content-Length": end - start, "Content-Range": `bytes ${start}-${end - 1}/${found.bytes.length}` }).end(found.bytes.subarray(start, end));
  }

  /** In pages, each beginning after the last key of the one before, which its token says. */
  #list(response: ServerResponse, query: URLSearchParams): void {
    const [prefix, after] = [query.get("prefix") ?? "", query.get("continuation-token") ?? ""];
    const most = Math.min(Number(query.get("max-keys") ?? this.pageSize), this.pageSize);
    const left = [...this.objects].filter(([key]) => key.startsWith(prefix) && key > after && !this.unlisted.has(key)).sort(([one], [other]) => (one < other ? -1 : 1));
    const page = left.slice(0, most);
    const rows = page.map(([key, { bytes, at }]) => `<Contents><Key>${key}</Key><LastModified>${new Date(at).toISOString()}</LastModified><Size>${bytes.length}</Size></Contents>`);
    const isCut = left.length > most;
    xml(response, `<ListBucketResult><KeyCount>${page.length}</KeyCount><IsTruncated>${isCut}</IsTruncated>${isCut ? `<NextContinuationToken>${page.at(-1)?.[0]}</NextContinuationToken>` : ""}${rows.join("")}</ListBucketResult>`);
  }

  /** Signature Version 4, header form, after the public reference; the bytes must be those that were signed. */
  #refusalOf(request: IncomingMessage, url: URL, body: Buffer): string | null {
    const [, keyId, day, region, signed = "", given = ""] = /^AWS4-HMAC-SHA256 Credential=([^/]+)\/(\d{8})\/([^/]+)\/s3\/aws4_request, ?SignedHeaders=([a-z0-9;-]+), ?Signature=([0-9a-f]{64})$/.exec(request.headers.authorization ?? "") ?? [];
    if (keyId !== this.keyId || region !== this.region) return "InvalidAccessKeyId";
    const [at, hash] = [String(request.headers["x-amz-date"]), String(request.headers["x-amz-content-sha256"])];
    if (hash !== createHash("sha256").update(body).digest("hex")) return "XAmzContentSHA256Mismatch";
    if (Math.abs(Date.parse(at.replace(/^(\d{4})(\d\d)(\d\d)T(\d\d)(\d\d)(\d\d)Z$/, "$1-$2-$3T$4:$5:$6Z")) - Date.now()) > 900_000) return "RequestTimeTooSkewed";
    if (!["host", "x-amz-content-sha256", "x-amz-date"].every((name) => signed.split(";").includes(name))) return "AccessDenied";
    const query = [...url.searchParams].map(([name, value]) => `${encode(name)}=${encode(value)}`).sort().join("&");
    const canonical = [request.method, url.pathname, query, ...signed.split(";").map((name) => `${name}:${String(request.headers[name]).trim()}`), "", signed, hash].join("\n");
    const scope = `${day}/${region}/s3/aws4_request`;
    const toSign = ["AWS4-HMAC-SHA256", at, scope, createHash("sha256").update(canonical).digest("hex")].join("\n");
    const key = [String(day), String(region), "s3", "aws4_request"].reduce<Buffer>((from, part) => hmac(from, part), Buffer.from(`AWS4${this.secret}`));
    return timingSafeEqual(hmac(key, toSign), Buffer.from(given, "hex")) ? null : "SignatureDoesNotMatch";
  }
}

const hmac = (key: Buffer, text: string): Buffer => createHmac("sha256", key).update(text).digest();
const encode = (text: string): string => encodeURIComponent(text).replace(/[!'()*]/g, (each) => `%${each.charCodeAt(0).toString(16).toUpperCase()}`);
const xml = (response: ServerResponse, body: string, status = 200): void => void response.writeHead(status, { "Content-Type": "application/xml" }).end(`<?xml version="1.0" encoding="UTF-8"?>${body}`);
const fail = (response: ServerResponse, status: number, code: string): void => xml(response, `<Error><Code>${code}</Code><Message>no</Message></Error>`, status);
