import { phoneClip, type Bare, type PhoneClip } from "@/app/family/send/clip/phone-clip";
import { inspectClip } from "@/lib/domain/clip/inspect";
import { CLIP_LIMITS } from "@/lib/domain/clip/limits";
import { ok, refuse, type Result } from "@/lib/domain/result";

/** A clip chosen on this phone. */
export type OpenedClip = Bare & {
  readonly src: string;
  /** By the file; it decides whether the parent is asked, and goes along, since what said it was taken out. */
  readonly takenAt: number | null;
  /** Null where this browser could not take out the sound and the rest: the bytes are the file's own then. */
  readonly phone: PhoneClip | null;
};

const TOO_BIG = { values: { max: CLIP_LIMITS.maxBytes / 1e6 } };
const TOO_LONG = { values: { seconds: CLIP_LIMITS.maxMs / 1000 } };

/** Reads a clip here, by the server's own rules, so that nothing is sent for nothing, and takes its sound out. */
export async function openClip(file: File): Promise<Result<OpenedClip>> {
  // Before it is read: a film of an hour would fill the phone.
  if (file.size > CLIP_LIMITS.maxBytes) return refuse("clip-too-big", TOO_BIG);
  try {
    const bytes = await file.arrayBuffer();
    const inspected = inspectClip(new Uint8Array(bytes));
    if (!inspected.ok) return inspected;
    const { container: kind, takenAt } = inspected.value;
    const phone = await phoneClip(kind, bytes);
    if (typeof phone === "string") return refuse(phone, phone === "clip-too-long" ? TOO_LONG : {});
    const at = takenAt && !takenAt.zoneKnown ? takenAt.at + new Date(takenAt.at).getTimezoneOffset() * 60_000 : takenAt?.at;
    const clip = phone?.clip ?? { kind, bytes };
    return ok({ ...clip, src: addressOf(clip), takenAt: at ?? null, phone });
  } catch {
    // The file was moved or erased meanwhile.
    return refuse("clip-damaged");
  }
}

export const addressOf = ({ kind, bytes }: Bare): string => URL.createObjectURL(new Blob([bytes], { type: `video/${kind}` }));

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
