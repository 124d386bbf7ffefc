import { expect, it } from "vitest";
import { outcomeOf } from "@/lib/domain/sending/reply";

const said = (status: number, body: unknown, retryAfter: number | null = null) => outcomeOf({ status, retryAfter, text: typeof body === "string" ? body : JSON.stringify(body) });

it("counts nothing as done but the server's own word", () => {
  expect(said(201, { photo: { photoId: "p1" }, receivedBytes: 1 })).toEqual({ kind: "done", photoId: "p1" });
  expect(said(200, { done: true })).toEqual({ kind: "done", photoId: null });
  // A public network's own page, a cut answer, another program at this address.
  for (const body of ["<!doctype html><title>Welcome to the station</title>", "", '{"done":tr', "null", "[]", '{"ok":true}']) expect(said(200, body)).toEqual({ kind: "line" });
  expect(said(302, "")).toEqual({ kind: "line" });
  expect(said(404, "<h1>Not found</h1>")).toEqual({ kind: "line" });
  expect(outcomeOf(null)).toEqual({ kind: "line" });
});

it("tells what to wait for from what a person must see", () => {
  expect(said(401, { error: "signed-out" })).toEqual({ kind: "signed-out" });
  expect(said(409, { error: "other-person" })).toEqual({ kind: "other-person" });
  expect(said(400, { problem: { code: "form-invalid" } })).toEqual({ kind: "old-page" });
  expect(said(404, { error: "not-found" })).toEqual({ kind: "refused", code: "not-found", values: {} });
  // RFC 9110, 10.2.3 and 15.6.4: the server names the seconds.
  expect(said(503, { problem: { code: "photo-queue-full" } }, 12)).toEqual({ kind: "busy", seconds: 12 });
  expect(said(503, "")).toEqual({ kind: "busy", seconds: 5 });
  expect(said(429, "", 60)).toEqual({ kind: "busy", seconds: 60 });
  expect(said(500, "")).toEqual({ kind: "server" });
  // RFC 4918, 11.5: no room now, and there may be later.
  expect(said(507, { problem: { code: "disk-full" } })).toEqual({ kind: "full" });
  expect(said(507, { problem: { code: "storage-full" } })).toEqual({ kind: "server" });
  expect(said(502, "<h1>Bad gateway</h1>")).toEqual({ kind: "server" });
  // Lost on the way: the photo on the phone is whole.
  for (const code of ["photo-length-mismatch", "photo-hash-mismatch", "photo-empty"]) expect(said(422, { problem: { code } })).toEqual({ kind: "line" });
  expect(said(422, { problem: { code: "photo-too-large", values: { max: 25, odd: null } } })).toEqual({ kind: "refused", code: "photo-too-large", values: { max: 25 } });
});
