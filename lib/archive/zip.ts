import "server-only";

/** Both would need the 64-bit form of the format, which nothing here comes near. */
const MOST_BYTES = 0xff_ff_ff_ff;
const MOST_FILES = 0xff_ff;
/** Version 2.0; names are UTF-8 (bit 11); stored as they are, since pictures and sound do not shrink. */
const [VERSION, UTF8, STORED] = [20, 0x08_00, 0];
/** Made under Unix (3), a plain file that its owner alone may write. */
const [MADE_BY, MODE] = [(3 << 8) | VERSION, (0o100644 << 16) >>> 0];

export class ZipTooLarge extends Error {
  override readonly name = "ZipTooLarge";
}

export type ZipWriter = {
  /** One file whole: its length and check stand before its bytes, so that every reader can open it. */
  add(path: string, bytes: Uint8Array): Promise<void>;
  /** The list of files that ends an archive. */
  end(): Promise<void>;
};

/**
 * Writes a ZIP archive (PKWARE APPNOTE 6.3, the common part) in one pass, holding one file at a time. `at`, UTC ms, is the
 * time every file carries.
 */
export function zipWriter(write: (bytes: Uint8Array) => Promise<void>, at: number): ZipWriter {
  const listed: Buffer[] = [];
  const when = dosTime(at);
  let offset = 0;
  const put = async (bytes: Uint8Array): Promise<void> => {
    if (offset + bytes.length > MOST_BYTES) throw new ZipTooLarge("the archive would need the 64-bit form");
    offset += bytes.length;
    await write(bytes);
  };
  return {
    async add(path, bytes) {
      if (listed.length >= MOST_FILES) throw new ZipTooLarge("the archive would hold too many files");
      const name = Buffer.from(path, "utf8");
      const start = offset;
      // From the version needed to the length of the extra field: the same in both places.
      const about = Buffer.alloc(26);
      about.writeUInt16LE(VERSION, 0);
      about.writeUInt16LE(UTF8, 2);
      about.writeUInt16LE(STORED, 4);
      about.writeUInt16LE(when.time, 6);
      about.writeUInt16LE(when.date, 8);
      about.writeUInt32LE(crc32(bytes), 10);
      about.writeUInt32LE(bytes.length, 14);
      about.writeUInt32LE(bytes.length, 18);
      about.writeUInt16LE(name.length, 22);
      await put(Buffer.concat([Buffer.from("PK\u0003\u0004", "latin1"), about, name]));
      await put(bytes);
      const place = Buffer.alloc(14);
      place.writeUInt32LE(MODE, 6);
      place.writeUInt32LE(start, 10);
      listed.push(Buffer.concat([Buffer.from("PK\u0001\u0002", "latin1"), uint16(MADE_BY), about, place, name]));
    },
    async end() {
      const start = offset;
      for (const entry of listed) await put(entry);
      const end = Buffer.alloc(22);
      end.write("PK\u0005\u0006", 0, "latin1");
      end.writeUInt16LE(listed.length, 8);
      end.writeUInt16LE(listed.length, 10);
      end.writeUInt32LE(offset - start, 12);
      end.writeUInt32LE(start, 16);
      await put(end);
    },
  };
}

/** CRC-32 as ISO/IEC 3309 has it, reflected 0x04C11DB7. Written here: Node's own came with 20.15 and 22.2. */
export function crc32(bytes: Uint8Array): number {
  let crc = 0xff_ff_ff_ff;
  for (const byte of bytes) crc = (CRC_OF[(crc ^ byte) & 0xff] ?? 0) ^ (crc >>> 8);
  return (crc ^ 0xff_ff_ff_ff) >>> 0;
}

const CRC_OF = Uint32Array.from({ length: 256 }, (_, byte) => {
  let crc = byte;
  for (let bit = 0; bit < 8; bit += 1) crc = crc & 1 ? 0xed_b8_83_20 ^ (crc >>> 1) : crc >>> 1;
  return crc;
});

function uint16(value: number): Buffer {
  const bytes = Buffer.alloc(2);
  bytes.writeUInt16LE(value);
  return bytes;
}

/** Two-second steps since 1980, which is all the format can say. */
function dosTime(at: number): { readonly time: number; readonly date: number } {
  const day = new Date(Math.max(at, Date.UTC(1980, 0, 1)));
  return {
    time: (day.getUTCHours() << 11) | (day.getUTCMinutes() << 5) | (day.getUTCSeconds() >> 1),
    date: ((day.getUTCFullYear() - 1980) << 9) | ((day.getUTCMonth() + 1) << 5) | day.getUTCDate(),
  };
}
