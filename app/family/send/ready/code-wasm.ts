import { prepareZXingModule, readBarcodes } from "zxing-wasm/reader";
import type { ReadCodes } from "@/app/family/send/ready/make-ready";
import { foundCodes, greyMap, READ_OPTIONS } from "@/lib/photos/found-codes.mjs";

/** On a bad line the reader may come late; a photo does not wait for it, since the server looks again. */
const PATIENCE_MS = 10_000;
let isReady: Promise<unknown> | null = null;

/** Handed to the library as bytes: by itself it would fetch them from another host. */
async function begin(): Promise<unknown> {
  const response = await fetch(new URL("zxing-wasm/reader/zxing_reader.wasm", import.meta.url));
  if (!response.ok) throw new Error("no code reader");
  return prepareZXingModule({ overrides: { wasmBinary: await response.arrayBuffer() }, fireImmediately: true });
}

/** The codes in a grey picture. None where they cannot be looked for: the server looks again and judges. */
export const readCodes: ReadCodes = async (picture) => {
  try {
    isReady ??= begin();
    await Promise.race([isReady, new Promise((_, late) => setTimeout(() => late(new Error("late")), PATIENCE_MS))]);
    return foundCodes(await readBarcodes(greyMap(picture), READ_OPTIONS));
  } catch {
    return [];
  }
};
