import { FRAME_LENGTH } from "@/lib/media/frames";
import type { ByteRange } from "@/lib/media/store";

/** What a request wants of a file: all of it, one part, or what there is not. */
export type Wanted = "whole" | "unsatisfiable" | ByteRange;

/**
 * Reads `Range` (RFC 9110, 14.1.1 and 14.2). A unit other than bytes is ignored, as it must be. One range
 * is served; a set of several, and one that makes no sense, is refused rather than answered at length.
 */
export function wantedRange(header: string | null, length: number): Wanted {
  const unit = /^\s*([!#$%&'*+.^_`|~0-9a-z-]+)=(.*)$/is.exec(header ?? "");
  if (!unit || unit[1]?.toLowerCase() !== "bytes") return "whole";
  const range = /^\s*(\d{0,15})-(\d{0,15})\s*$/.exec(unit[2] ?? "");
  if (!range) return "unsatisfiable";
  const [, first = "", last = ""] = range;
  if (first === "") {
    // The last so many bytes; none of them is none.
    const suffix = Math.min(last === "" ? 0 : Number(last), length);
    return suffix > 0 ? { start: length - suffix, end: length } : "unsatisfiable";
  }
  const start = Number(first);
  const end = last === "" ? length : Math.min(Number(last) + 1, length);
  return start < length && start < end ? { start, end } : "unsatisfiable";
}

/**
 * What is answered: the status, the bytes and the headers about them. `If-Range` must name this very
 * file by its strong tag, else the whole of it is sent (RFC 9110, 13.1.5). The framework takes every
 * `Content-Length` away and sends in chunks; a part's length stands in its `Content-Range`.
 */
export function answerOf(headers: Headers, length: number, tag: string): { readonly status: 200 | 206 | 416; readonly range: ByteRange; readonly headers: Record<string, string> } {
  const ifRange = headers.get("if-range");
  const wanted = ifRange === null || ifRange.trim() === tag ? wantedRange(headers.get("range"), length) : "whole";
  if (wanted === "unsatisfiable") {
    return { status: 416, range: { start: 0, end: 0 }, headers: { "Accept-Ranges": "bytes", "Content-Range": `bytes */${length}` } };
  }
  const range = wanted === "whole" ? { start: 0, end: length } : wanted;
  const about = { "Accept-Ranges": "bytes" };
  if (wanted === "whole") return { status: 200, range, headers: about };
  return { status: 206, range, headers: { ...about, "Content-Range": `bytes ${range.start}-${range.end - 1}/${length}` } };
}

/** Opened at once: whole frames, so that none is opened twice. */
const PIECE = 4 * FRAME_LENGTH;

/**
 * A body that opens the file piece by piece as it is taken. The first piece is opened before the stream
 * is handed over, so that a damaged file is an error and not a broken answer.
 */
export async function streamOf({ start, end }: ByteRange, read: (range: ByteRange) => Promise<Buffer>): Promise<ReadableStream<Uint8Array>> {
  const pieceFrom = (at: number): ByteRange => ({ start: at, end: Math.min((Math.floor(at / PIECE) + 1) * PIECE, end) });
  let piece = pieceFrom(start);
  let ready: Buffer | null = await read(piece);
  return new ReadableStream<Uint8Array>({
    async pull(controller) {
      const bytes = ready ?? await read(piece);
      ready = null;
      controller.enqueue(new Uint8Array(bytes));
      if (piece.end >= end) return controller.close();
      piece = pieceFrom(piece.end);
    },
  }, { highWaterMark: 0 });
}
