/** The version of the open protocol for uploads in pieces that is spoken here (tus.io, 1.0.0, core and creation). */
export const UPLOAD_VERSION = "1.0.0";

/** One piece at most; a phone cuts its clip smaller, so that little is sent twice over a line that breaks. */
export const PIECE_LIMITS = { maxBytes: 5_000_000, cutBytes: 6_000_000 } as const;

export const isOurVersion = (request: Request): boolean => request.headers.get("tus-resumable") === UPLOAD_VERSION;

/** One thing that a phone says of a clip beside its bytes (creation, `Upload-Metadata`: a name and its value in Base64, split by commas); null when it does not. */
export function saidOfUpload(request: Request, name: string): string | null {
  const pairs = (request.headers.get("upload-metadata") ?? "").split(",").map((pair) => pair.trim().split(" "));
  const value = pairs.find(([key]) => key === name)?.[1];
  return value === undefined ? null : Buffer.from(value, "base64").toString("utf8");
}

/** An answer of that protocol: headers alone. */
export const resumable = (status: number, headers: Readonly<Record<string, string>> = {}): Response =>
  new Response(null, { status, headers: { "Tus-Resumable": UPLOAD_VERSION, "Cache-Control": "private, no-store", "X-Content-Type-Options": "nosniff", ...headers } });
