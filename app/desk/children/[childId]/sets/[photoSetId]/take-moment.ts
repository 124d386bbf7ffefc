import { sha256 } from "@/app/ui/send-bytes";
import { shownSize } from "@/lib/domain/clip/moment";

export type TakenMoment = { readonly photoId: string };
/** A refusal's code, or `line`, `signedOut` or `noFrame`. */
export type Took = { readonly moment: TakenMoment; readonly width: number; readonly height: number } | { readonly code: string; readonly values?: Readonly<Record<string, string | number>> };

const QUALITY = 0.95;
/** A frame that a browser has not got by then it will not get. */
const LOADING_MS = 15_000;

/**
 * Draws what the player shows, as it shows it, and sends it up under its key: the same key gives the same moment. The server
 * opens it like any photo.
 */
export async function takeMoment(film: HTMLVideoElement, at: { readonly childId: string; readonly photoId: string; readonly clipMs: number; readonly isTurnedBack: boolean; readonly turns: number }, key: string): Promise<Took> {
  const frame = (await hasFrame(film)) ? await drawn(film, at) : null;
  if (!frame) return { code: "noFrame" };
  const bytes = await frame.arrayBuffer();
  const answer = await fetch(`/api/moments/${at.childId}/${at.photoId}?ms=${at.clipMs}&turned=${at.isTurnedBack ? 1 : 0}`, {
    method: "POST", body: bytes,
    headers: { "Content-Type": "application/octet-stream", "Idempotency-Key": key, "X-Photo-Length": String(bytes.byteLength), "X-Photo-Sha256": await sha256(bytes) },
  }).catch(() => null);
  const said = await read(answer);
  return "photoId" in said ? { moment: { photoId: said.photoId }, ...shownSize({ width: film.videoWidth, height: film.videoHeight, turns: at.turns }) } : said;
}

/** Null once it is gone; else why it is not. */
export async function removeMoment(childId: string, photoId: string): Promise<string | null> {
  const answer = await fetch(`/api/moments/${childId}/${photoId}`, { method: "DELETE", headers: { "Idempotency-Key": crypto.randomUUID() } }).catch(() => null);
  if (answer?.ok) return null;
  const said = await read(answer);
  return "code" in said ? said.code : "line";
}

async function read(answer: Response | null): Promise<TakenMoment | { readonly code: string; readonly values?: Readonly<Record<string, string | number>> }> {
  if (answer?.status === 401) return { code: "signedOut" };
  // Our own route's answer; whatever else comes is no answer.
  const body = await answer?.json().catch(() => null) as { readonly photoId?: string; readonly problem?: { readonly code: string; readonly values?: Readonly<Record<string, string | number>> } } | null | undefined;
  if (answer?.ok && body?.photoId) return { photoId: body.photoId };
  return body?.problem ?? { code: "line" };
}

/** Nothing of a clip is fetched before somebody plays it: then the frame is fetched now. */
async function hasFrame(film: HTMLVideoElement): Promise<boolean> {
  film.pause();
  if (film.readyState >= HTMLMediaElement.HAVE_CURRENT_DATA && !film.seeking) return true;
  const ready = new Promise<boolean>((settle) => {
    const see = () => {
      if (film.readyState >= HTMLMediaElement.HAVE_CURRENT_DATA && !film.seeking) settle(true);
    };
    for (const event of ["loadeddata", "seeked", "canplay"]) film.addEventListener(event, see);
    film.addEventListener("error", () => settle(false));
    window.setTimeout(() => settle(false), LOADING_MS);
  });
  film.preload = "auto";
  // Asking for the place it stands at fetches that frame, in browsers that would wait for a play.
  const here = film.currentTime;
  film.currentTime = here;
  return ready;
}

function drawn(film: HTMLVideoElement, { isTurnedBack, turns }: { readonly isTurnedBack: boolean; readonly turns: number }): Promise<Blob | null> {
  const canvas = Object.assign(document.createElement("canvas"), shownSize({ width: film.videoWidth, height: film.videoHeight, turns }));
  const pen = canvas.getContext("2d");
  if (!pen || canvas.width === 0) return Promise.resolve(null);
  // Turned first and then flipped, as the photo was: a canvas wants the last one said first.
  pen.translate(canvas.width / 2, canvas.height / 2);
  if (isTurnedBack) pen.scale(-1, 1);
  pen.rotate((turns * Math.PI) / 2);
  pen.drawImage(film, -film.videoWidth / 2, -film.videoHeight / 2);
  return new Promise((settle) => { canvas.toBlob(settle, "image/jpeg", QUALITY); });
}
