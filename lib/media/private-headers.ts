import "server-only";

/**
 * What every picture and spoken note is served with: kept by one browser only, and asked about again at
 * each look. `isKnown`: that browser has this very file already, so that 304 is the answer.
 */
export function privateMedia(request: Request, sha256: string): { readonly tag: string; readonly headers: Readonly<Record<string, string>>; readonly isKnown: boolean } {
  const tag = `"${sha256}"`;
  const headers = {
    "Cache-Control": "private, no-cache",
    ETag: tag,
    "X-Content-Type-Options": "nosniff",
    "Content-Security-Policy": "sandbox; default-src 'none'",
    "Cross-Origin-Resource-Policy": "same-origin",
  };
  const known = request.headers.get("if-none-match")?.split(",").map((each) => each.trim()) ?? [];
  return { tag, headers, isKnown: known.includes(tag) };
}
