import { createServer, request } from "node:http";
import { freePort } from "@/e2e/walk/port";

export type OtherDoor = { readonly origin: string; newBuild(): void; close(): void };

/** The same server at an address of its own, where its worker can become another build's. Cookies are for all ports alike. */
export async function otherDoor(to: string): Promise<OtherDoor> {
  let isNew = false;
  const door = createServer((asked, answer) => {
    const { "accept-encoding": _, ...headers } = { ...asked.headers, host: new URL(to).host };
    const passed = request(`${to}${asked.url ?? "/"}`, { method: asked.method ?? "GET", headers }, (reply) => {
      const { "content-length": __, ...kept } = reply.headers;
      answer.writeHead(reply.statusCode ?? 502, kept);
      reply.on("end", () => answer.end(isNew && asked.url === "/worker.js" ? "\n// another build" : ""));
      reply.pipe(answer, { end: false });
    });
    passed.on("error", () => answer.destroy());
    asked.pipe(passed);
  });
  const port = await freePort();
  await new Promise<void>((resolve) => door.listen(port, "localhost", resolve));
  return {
    origin: `http://localhost:${port}`,
    newBuild: () => (isNew = true),
    close: () => {
      door.closeAllConnections();
      door.close();
    },
  };
}
