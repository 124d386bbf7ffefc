import "server-only";

/** Texts kept of one kind, far more than a practice has different ones of at a time. */
const KEPT = 1000;

/**
 * Reads a stored text, and each same text only once: what the rules made of one pattern stands word for word in the
 * rows of every child that has it. Its value is shared, and like every stored one never changed. For lib/records alone.
 */
export function readOnce<T extends object>(read: (text: string) => T): (text: string) => T {
  const known = new Map<string, T>();
  return (text) => {
    const value = known.get(text) ?? read(text);
    if (known.size >= KEPT) known.clear();
    known.set(text, value);
    return value;
  };
}
