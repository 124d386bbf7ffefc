import { readFileSync } from "node:fs";
import { registryPhoto } from "@/tests/photos/sources";
import { done, exportAct, photoAct, setAct } from "@/tests/proofs/acts";
import { ageFiles, brokenIn, missingFrom, nothingYet, strays } from "@/tests/proofs/kept";
import { newId, storedIn, type Practice } from "@/tests/proofs/practice";
import { pause } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";
import { readZip } from "@/tests/records/read-zip";

const PHOTOS = ["exif/test/evil1.jpg", "jpeg-exif/test/IMG_0003.JPG"];
const AT_ONCE = 4;
const MADE_BY_MS = 600_000;

/**
 * Everything of a child with hundreds of photos as one file: the server is killed in the middle of making it and once more;
 * the archive is then made whole, holds every photo, and nothing of the ones before it is left.
 */
export async function archive(practice: Practice, { photos }: { readonly photos: number }): Promise<Report> {
  const files = PHOTOS.map(registryPhoto);
  const [sender] = await practice.senders();
  if (!sender) throw new Error("nobody may send");
  const acknowledged = nothingYet();
  const losses: string[] = [];
  let next = 0;
  const send = async (): Promise<void> => {
    while (next < photos) {
      next += 1;
      if (next % 20 === 1) practice.letADayPass();
      const [setId, photo] = [newId(), files[next % files.length] ?? Buffer.alloc(0)];
      const { photoId } = storedIn(await done(photoAct(practice, sender, setId, photo), acknowledged));
      await done(setAct(practice, sender, setId, photoId), acknowledged);
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, send));
  practice.letAllProve();
  const act = exportAct(practice, sender);
  await done(act, acknowledged);
  const row = (): Readonly<Record<string, unknown>> => practice.rows("select id, begun, files_done as done, files_to_do as todo, made_at as made, byte_length as bytes, failed_at as failed from child_exports where asked_by = ? order by asked_at desc limit 1", sender.personId)[0] ?? {};
  let [kills, inTheMiddle] = [0, 0];
  for (const share of [0.3, 0.7]) {
    const until = Date.now() + MADE_BY_MS;
    while (Date.now() < until && row()["made"] === null && !(Number(row()["todo"]) > 0 && Number(row()["done"]) >= share * Number(row()["todo"]))) await pause(5);
    await practice.end("SIGKILL");
    kills += 1;
    if (row()["made"] === null) inTheMiddle += 1;
    ageFiles(practice);
    await practice.start();
  }
  if (inTheMiddle === 0) losses.push("no kill fell into the making");
  const until = Date.now() + MADE_BY_MS;
  while (Date.now() < until && row()["made"] === null && row()["failed"] === null) await pause(200);
  practice.letAllProve();
  losses.push(...(await missingFrom(practice, acknowledged)), ...brokenIn(practice), ...strays(practice).map((path) => `file without row ${path}`));
  const { body } = await practice.ask(`/api/exports/${sender.childId}/${String(row()["id"])}`, sender.cookie);
  const inside = await readZip(Buffer.from(body, "latin1")).catch(() => new Map<string, Buffer>());
  const pictures = [...inside.keys()].filter((name) => /\.(?:jpe?g|webp)$/.test(name)).length;
  if (pictures < photos) losses.push(`the archive holds ${pictures} pictures of ${photos}`);
  const peak = Math.round(Number(/VmHWM:\s+(\d+)/.exec(readFileSync(`/proc/${practice.pid}/status`, "utf8"))?.[1] ?? 0) / 1024);
  return { figures: { photos: acknowledged.photos.length, kills, inTheMiddle, begun: Number(row()["begun"]), files: inside.size, pictures, megabytes: Math.round(Number(row()["bytes"]) / 1e6), "server's peak": `${peak} MB`, lost: losses.length }, losses };
}
