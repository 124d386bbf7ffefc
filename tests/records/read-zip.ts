import { gzipSync } from "node:zlib";
import { fromBuffer, type ZipFile } from "yauzl";

/** Every file of an archive, by a reader that is not ours (yauzl), which checks names and lengths; each CRC-32 is held to that of Node's gzip (RFC 1952, 2.3.1). */
export async function readZip(archive: Buffer): Promise<ReadonlyMap<string, Buffer>> {
  const zip = await new Promise<ZipFile>((resolve, reject) => fromBuffer(archive, { lazyEntries: true, strictFileNames: true, validateEntrySizes: true }, (error, opened) => (opened ? resolve(opened) : reject(error ?? new Error("no archive")))));
  const files = new Map<string, Buffer>();
  await new Promise<void>((resolve, reject) => {
    zip.on("error", reject);
    zip.on("end", resolve);
    zip.on("entry", (entry) => zip.openReadStream(entry, (error, stream) => {
      if (!stream) return reject(error ?? new Error("no bytes"));
      const pieces: Buffer[] = [];
      stream.on("error", reject);
      stream.on("data", (piece: Buffer) => pieces.push(piece));
      stream.on("end", () => {
        if (files.has(entry.fileName)) reject(new Error(`twice: ${entry.fileName}`));
        const bytes = Buffer.concat(pieces);
        const gzipped = gzipSync(bytes);
        if (entry.crc32 !== gzipped.readUInt32LE(gzipped.length - 8)) reject(new Error(`damaged: ${entry.fileName}`));
        files.set(entry.fileName, bytes);
        zip.readEntry();
      });
    }));
    zip.readEntry();
  });
  return files;
}
