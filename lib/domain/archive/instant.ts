/** An instant in UTC, as RFC 3339 writes it. */
export const iso = (at: number): string => new Date(at).toISOString();
export const isoOrNull = (at: number | null): string | null => (at === null ? null : iso(at));
