import type { Asked, World } from "@/app/family/queue/pass";
import type { Reply } from "@/lib/domain/sending/reply";

/** A line on which nothing moves for this long is as good as lost; however slow, one that moves is waited for. */
const SILENCE_MS = 60_000;

/** The world of a page or of its worker. Only a page can tell how much of a photo has gone. */
export const BROWSER: World = {
  // "No" is to be believed, and saves a try; "yes" only means that there is some network.
  ask: async (asked, progress) => (navigator.onLine === false ? null : typeof XMLHttpRequest === "function" ? askTelling(asked, progress) : askSilently(asked)),
  now: () => Date.now(),
};

function askTelling({ method = "POST", path, headers, body }: Asked, progress: (share: number) => void): Promise<Reply> {
  return new Promise((settle) => {
    const request = new XMLHttpRequest();
    let silence = 0;
    const moved = () => {
      clearTimeout(silence);
      silence = window.setTimeout(() => request.abort(), SILENCE_MS);
    };
    const end = (reply: Reply) => {
      clearTimeout(silence);
      settle(reply);
    };
    request.open(method, path);
    for (const [name, value] of Object.entries(headers)) request.setRequestHeader(name, value);
    request.upload.addEventListener("progress", (event) => {
      moved();
      if (event.lengthComputable) progress(event.loaded / event.total);
    });
    request.addEventListener("progress", moved);
    request.addEventListener("error", () => end(null));
    request.addEventListener("abort", () => end(null));
    request.addEventListener("load", () => end({ status: request.status, retryAfter: seconds(request.getResponseHeader("Retry-After")), text: request.responseText, offset: whole(request.getResponseHeader("Upload-Offset")) }));
    moved();
    request.send(body || null);
  });
}

async function askSilently({ method = "POST", path, headers, body }: Asked): Promise<Reply> {
  try {
    const response = await fetch(path, { method, headers, body: body || null, redirect: "manual", signal: AbortSignal.timeout(5 * SILENCE_MS) });
    return { status: response.status, retryAfter: seconds(response.headers.get("Retry-After")), text: await response.text(), offset: whole(response.headers.get("Upload-Offset")) };
  } catch {
    return null;
  }
}

const whole = (header: string | null): number | null => (header !== null && /^\d{1,9}$/.test(header) ? Number(header) : null);
const seconds = (header: string | null): number | null => (header !== null && /^\d{1,6}$/.test(header) ? Number(header) : null);
