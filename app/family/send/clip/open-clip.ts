import { inspectClip } from "@/lib/domain/clip/inspect";
import { CLIP_LIMITS } from "@/lib/domain/clip/limits";
import { ok, refuse, type Result } from "@/lib/domain/result";

/** A clip chosen on this phone. */
export type OpenedClip = {
  readonly bytes: ArrayBuffer;
  readonly src: string;
  /** By the file; it only decides whether the parent is asked. */
  readonly takenAt: number | null;
};

/** Reads a clip here, by the server's own rules, so that nothing is sent for nothing. */
export async function openClip(file: File): Promise<Result<OpenedClip>> {
  // Before it is read: a film of an hour would fill the phone.
  if (file.size > CLIP_LIMITS.maxBytes) return refuse("clip-too-big");
  try {
    const bytes = await file.arrayBuffer();
    const inspected = inspectClip(new Uint8Array(bytes));
    if (!inspected.ok) return inspected;
    const { takenAt } = inspected.value;
    const at = takenAt && !takenAt.zoneKnown ? takenAt.at + new Date(takenAt.at).getTimezoneOffset() * 60_000 : takenAt?.at;
    return ok({ bytes, src: URL.createObjectURL(file), takenAt: at ?? null });
  } catch {
    // The file was moved or erased meanwhile.
    return refuse("clip-damaged");
  }
}

/** The frame on the screen as a picture. Rejects where the browser shows none. */
export async function photoAt(film: HTMLVideoElement): Promise<File> {
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [film.videoWidth, film.videoHeight];
  const ink = canvas.getContext("2d");
  if (!ink || canvas.width === 0) throw new Error("no frame");
  ink.drawImage(film, 0, 0);
  const jpeg = await new Promise<Blob | null>((resolve) => { canvas.toBlob(resolve, "image/jpeg", 0.95); });
  if (!jpeg) throw new Error("no frame");
  return new File([jpeg], "frame.jpg", { type: "image/jpeg" });
}
