export type Told = { readonly status: number; readonly text: string };

/** Posts bytes as they are, telling how much went (0 to 1). Null when the line was lost or the server was not there. */
export function sendBytes(url: string, bytes: ArrayBuffer, headers: Readonly<Record<string, string>>, progress: (share: number) => void): Promise<Told | null> {
  return new Promise((settle) => {
    const request = new XMLHttpRequest();
    request.open("POST", url);
    request.setRequestHeader("Content-Type", "application/octet-stream");
    for (const [name, value] of Object.entries(headers)) request.setRequestHeader(name, value);
    request.upload.addEventListener("progress", (event) => progress(event.lengthComputable ? event.loaded / event.total : 0));
    request.addEventListener("error", () => settle(null));
    request.addEventListener("abort", () => settle(null));
    request.addEventListener("load", () => settle(request.status >= 500 ? null : { status: request.status, text: request.responseText }));
    request.send(bytes);
  });
}

/** SHA-256, 64 lower-case hexadecimal digits. */
export async function sha256(bytes: ArrayBuffer): Promise<string> {
  const digest = await crypto.subtle.digest("SHA-256", bytes);
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
