/** What the server made of one step. */
export type Outcome =
  | { readonly kind: "done"; readonly photoId: string | null }
  /** The connection was lost, or somebody between answered in the server's place. */
  | { readonly kind: "line" }
  | { readonly kind: "server" }
  /** The practice's storage has no room for photos now. */
  | { readonly kind: "full" }
  | { readonly kind: "busy"; readonly seconds: number }
  | { readonly kind: "signed-out" | "other-person" | "old-page" }
  | { readonly kind: "refused"; readonly code: string; readonly values: Readonly<Record<string, string | number>> };

/**
 * An answer as it came: null when none came whole. `retryAfter` is that header's seconds and `offset` how much of a clip has arrived,
 * where it says so.
 */
export type Reply = { readonly status: number; readonly retryAfter: number | null; readonly text: string; readonly offset?: number | null } | null;

type Said = { readonly photo?: { readonly photoId?: unknown }; readonly done?: unknown; readonly error?: unknown; readonly problem?: { readonly code?: unknown; readonly values?: unknown } };

/** Refusals by the transfer alone: the photo on the phone is whole, and goes again. */
const LOST_ON_THE_WAY = ["photo-length-mismatch", "photo-hash-mismatch", "photo-empty"];

/**
 * Nothing counts as done but the server's own word for it: a public network's sign-in page answers 200
 * as well. What cannot be read is tried again.
 */
export function outcomeOf(reply: Reply): Outcome {
  if (!reply) return { kind: "line" };
  const { status, retryAfter } = reply;
  const said = saidIn(reply.text);
  if (status === 503) return { kind: "busy", seconds: retryAfter ?? 5 };
  if (said?.problem?.code === "disk-full") return { kind: "full" };
  if (status >= 500 || status === 408 || status === 429) return retryAfter === null ? { kind: "server" } : { kind: "busy", seconds: retryAfter };
  if (!said) return { kind: "line" };
  if (status < 300) {
    const photoId = said.photo?.photoId;
    if (typeof photoId === "string") return { kind: "done", photoId };
    return said.done === true ? { kind: "done", photoId: null } : { kind: "line" };
  }
  if (status === 401) return { kind: "signed-out" };
  if (status === 409 && said.error === "other-person") return { kind: "other-person" };
  if (status === 404) return said.error === "not-found" ? { kind: "refused", code: "not-found", values: {} } : { kind: "line" };
  const code = said.problem?.code;
  if (typeof code !== "string") return { kind: "server" };
  if (LOST_ON_THE_WAY.includes(code)) return { kind: "line" };
  // Its fields are not what this server reads: the page that made the request is older than the server.
  if (status === 400) return { kind: "old-page" };
  return { kind: "refused", code, values: valuesIn(said.problem?.values) };
}

function saidIn(text: string): Said | null {
  try {
    const parsed: unknown = JSON.parse(text);
    return typeof parsed === "object" && parsed !== null ? parsed : null;
  } catch {
    return null;
  }
}

function valuesIn(values: unknown): Readonly<Record<string, string | number>> {
  if (typeof values !== "object" || values === null) return {};
  return Object.fromEntries(Object.entries(values).flatMap(([name, value]) => (typeof value === "string" || typeof value === "number" ? [[name, value]] : [])));
}
