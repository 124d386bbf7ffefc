import { expect, test } from "vitest";
import { assetsIn, languageAsked, shellAddress, shellIn, wayBack } from "@/lib/domain/installed/shell";

test("finds the built files of a page in its markup and in its data, each once", () => {
  const html = `<link rel="stylesheet" href="/_next/static/chunks/a-_9.css" data-precedence="next"/><script src="/_next/static/chunks/turbopack-x.js" async=""></script>
    <script nonce="n">self.__next_f.push([1,"4:I[1,[\\"/_next/static/chunks/b~1.js\\",\\"/_next/static/chunks/a-_9.css\\"],\\"X\\"]"])</script>
    <img src="/media/x/y/2048"/><a href="/family">x</a>`;
  expect(assetsIn(html)).toEqual(["/_next/static/chunks/a-_9.css", "/_next/static/chunks/turbopack-x.js", "/_next/static/chunks/b~1.js"]);
});

test("the way back is the page that was asked for", () => {
  const to = shellAddress(new URL("https://practice.example/family/send?child=c1&exercise=e1"));
  expect(to).toBe("https://practice.example/kept?from=%2Ffamily%2Fsend%3Fchild%3Dc1%26exercise%3De1");
  expect(wayBack(new URL(to).search)).toBe("/family/send?child=c1&exercise=e1");
});

test.each([
  "", "?from=", "?from=/desk", "?from=//evil.example", "?from=/family//evil.example/", "?from=https://evil.example/family", "?from=/familyx", "?from=/family/%5C..%5Cx", "?from=javascript:alert(1)", "?from=/\\evil.example",
])("the way back from %s is the first page", (search) => {
  expect(wayBack(search)).toBe("/family");
});

test("another language of the page keeps the way back, and no other language is known", () => {
  const spanish = new URL(shellIn("es", "?from=%2Ffamily%2Fsend%3Fchild%3Dc1&in=en"), "https://practice.example");
  expect(languageAsked(spanish.search)).toBe("es");
  expect(wayBack(spanish.search)).toBe("/family/send?child=c1");
  for (const search of ["", "?in=", "?in=ES", "?in=xx", "?in=constructor"]) expect(languageAsked(search)).toBeNull();
});
