const MAX_LENGTH = 254;
/** One local part, one `@`, a dotted domain; no quotes, commas, brackets, spaces or control characters anywhere. */
const SHAPE = /^[^\s"'`,;:<>()[\]\\@\p{C}]+@[^\s"'`,;:<>()[\]\\@\p{C}]+\.[^\s"'`,;:<>()[\]\\@\p{C}.]+$/u;

/**
 * A typed e-mail address as we keep and compare it: NFKC first, so that a full-width `＠` counts as an
 * `@`, then trimmed and lower case. Null for anything that could be read as two addresses, as a quoted
 * one or as a header. Mail goes to the stored address, never to what was typed; but for the code that shows
 * that a new one is theirs, which goes to this form of it.
 */
export function normalisedAddress(typed: string): string | null {
  const address = typed.normalize("NFKC").trim().toLowerCase();
  return address.length <= MAX_LENGTH && SHAPE.test(address) ? address : null;
}
