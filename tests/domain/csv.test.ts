import { expect, test } from "vitest";
import { csv } from "@/lib/domain/words/csv";

test("is RFC 4180: CRLF after each record, quotes around commas, quotes and line ends, quotes doubled", () => {
  // RFC 4180, section 2, rules 1, 2, 6 and 7.
  expect(csv([["aaa", "b\r\nbb", "ccc"], ["zzz", "yyy", "xxx"]])).toBe('aaa,"b\r\nbb",ccc\r\nzzz,yyy,xxx\r\n');
  expect(csv([["aaa", 'b"bb', "c,cc"]])).toBe('aaa,"b""bb","c,cc"\r\n');
  expect(csv([["a", null, -1.5], []])).toBe("a,,-1.5\r\n\r\n");
});

test.each(["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "\uFF1D1+1", "\uFF0B1", "\uFF0D1", "\uFF20SUM(A1)"])("%j never starts a formula", (text) => {
  // OWASP, CSV injection: = + - @, tab, carriage return, line feed, and the same signs full-width.
  expect(csv([[text]]).replace(/^"/, "").startsWith("'")).toBe(true);
});
