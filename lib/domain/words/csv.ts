/** What a spreadsheet would read as a formula at the start of a cell; it is told to read text (OWASP, CSV injection). */
const FORMULA = /^[=+\-@\t\r\n\uFF1D\uFF0B\uFF0D\uFF20]/;
/** At the start of a file: without it a spreadsheet may take UTF-8 for an older code and garble each accent. */
export const CSV_MARK = "\uFEFF";

/** Rows as CSV (RFC 4180): CRLF, quotes where needed. Numbers stand as they are; null is an empty cell. */
export const csv = (rows: readonly (readonly (string | number | null)[])[]): string =>
  rows.map((row) => `${row.map(cell).join(",")}\r\n`).join("");

function cell(value: string | number | null): string {
  if (value === null) return "";
  if (typeof value === "number") return String(value);
  const text = FORMULA.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
