import { randomUUID } from "node:crypto";
import { request, type IncomingHttpHeaders } from "node:http";

export type Answer = { readonly status: number; readonly location: string; readonly headers: IncomingHttpHeaders; readonly body: string };
export type Sent = { readonly method?: string; readonly headers?: Readonly<Record<string, string>>; readonly body?: string | Buffer };

/**
 * One real request on a connection of its own that adds nothing but a browser's being named, without which the
 * framework puts a title now here, now there; a missing Origin is really missing.
 */
export function ask(origin: string, path: string, { method = "GET", headers = {}, body }: Sent = {}): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const outgoing = request(new URL(path, origin), { method, agent: false, headers: { "User-Agent": "walk", ...headers, ...(body === undefined ? {} : { "Content-Length": Buffer.byteLength(body) }) } }, (incoming) => {
      const chunks: Buffer[] = [];
      incoming.on("data", (chunk: Buffer) => chunks.push(chunk));
      incoming.on("end", () => resolve({ status: incoming.statusCode ?? 0, location: incoming.headers.location ?? String(incoming.headers["x-action-redirect"] ?? ""), headers: incoming.headers, body: Buffer.concat(chunks).toString("latin1") }));
      incoming.on("error", reject);
    });
    outgoing.on("error", reject);
    outgoing.end(body);
  });
}

/**
 * A server action called as the framework's own browser code calls it: the id in a header, and as body
 * React's reply encoding of the arguments (form state, form data): https://react.dev/reference/rsc/server-functions.
 */
export function actionCall(id: string, fields: Readonly<Record<string, string>>): Sent {
  const boundary = `walk-${randomUUID()}`;
  const parts = [
    ...Object.entries(fields).map(([name, value]) => [`_1_${name}`, value] as const),
    ["0", `[{"problem":null,"typed":{},"isDone":false},"$K1"]`] as const,
  ];
  const body = `${parts.map(([name, value]) => `--${boundary}\r\nContent-Disposition: form-data; name="${name}"\r\n\r\n${value}\r\n`).join("")}--${boundary}--\r\n`;
  return { method: "POST", headers: { "Next-Action": id, Accept: "text/x-component", "Content-Type": `multipart/form-data; boundary=${boundary}` }, body };
}
