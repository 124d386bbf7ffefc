import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { runEvery } from "@/lib/jobs/run-every";

const JOB = "a test's own";
let lines: string[];
let stop = (): void => {};
beforeEach(() => {
  lines = [];
  vi.useFakeTimers();
  vi.spyOn(process.stderr, "write").mockImplementation((line) => lines.push(String(line)) > 0);
});
afterEach(() => {
  stop();
  vi.restoreAllMocks();
  vi.useRealTimers();
});

test("a job is done at once and then every so often, once a process however often it is started", async () => {
  const work = vi.fn();
  stop = runEvery(JOB, 1000, work);
  stop = runEvery(JOB, 1000, work);
  await vi.advanceTimersByTimeAsync(2500);
  expect(work).toHaveBeenCalledTimes(3);
});

test("a failure says which job and its code, no word more, and the next time tries again", async () => {
  const work = vi.fn()
    .mockImplementationOnce(() => {
      throw Object.assign(new Error("Mira Okonjo-Lund"), { code: "SQLITE_BUSY" });
    })
    .mockRejectedValueOnce(new Error("Mira Okonjo-Lund"));
  stop = runEvery(JOB, 1000, work);
  await vi.advanceTimersByTimeAsync(2500);
  expect(work).toHaveBeenCalledTimes(3);
  expect(lines.map((line) => JSON.parse(line))).toMatchObject([{ event: "job-failed", job: JOB, code: "SQLITE_BUSY" }, { event: "job-failed", job: JOB, code: "unknown" }]);
  expect(lines.join("")).not.toContain("Mira");
});

test("one that takes long is not started beside itself", async () => {
  let isFree = (): void => {};
  const work = vi.fn(() => new Promise<void>((done) => {
    isFree = done;
  }));
  stop = runEvery(JOB, 1000, work);
  await vi.advanceTimersByTimeAsync(3500);
  expect(work).toHaveBeenCalledTimes(1);
  isFree();
  await vi.advanceTimersByTimeAsync(1000);
  expect(work).toHaveBeenCalledTimes(2);
});
