import { connect, createServer, type Socket } from "node:net";
import type { AddressInfo } from "node:net";

/** Bytes after which a connection is cut, on the way to the server or on the way back; null: never. */
export type Cut = { readonly there: number | null; readonly back: number | null };

/** A TCP line to a port of this machine that is cut where it is told to be. One request at a time. */
export type CuttingLine = {
  readonly port: number;
  readonly cuts: { there: number; back: number };
  /** For the next connection. */
  cutNext(cut: Cut): void;
  /** Nothing passes, neither what is under way nor what is tried meanwhile, until it is mended. */
  sever(): void;
  mend(): void;
  close(): void;
};

export async function openCuttingLine(target: number): Promise<CuttingLine> {
  let next: Cut = { there: null, back: null };
  const cuts = { there: 0, back: 0 };
  const open = new Set<Socket>();
  let isSevered = false;
  const server = createServer((near) => {
    if (isSevered) {
      near.on("error", () => undefined).resetAndDestroy(); // it is the line that ends it
      return;
    }
    const far = connect(target, "127.0.0.1");
    const cut = next;
    const end = (): void => {
      near.destroy();
      far.destroy();
    };
    const snap = (way: "there" | "back") => (): void => {
      cuts[way] += 1;
      // Reset, as when a phone loses its signal: nobody says goodbye.
      near.resetAndDestroy();
      far.resetAndDestroy();
    };
    pass(near, far, cut.there, snap("there"));
    pass(far, near, cut.back, snap("back"));
    for (const socket of [near, far]) {
      open.add(socket);
      socket.on("error", end).on("close", end).on("close", () => open.delete(socket));
    }
  });
  await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
  return {
    port: (server.address() as AddressInfo).port, // listening on TCP
    cuts,
    cutNext(cut) {
      next = cut;
    },
    sever() {
      isSevered = true;
      for (const socket of open) socket.resetAndDestroy();
    },
    mend() {
      isSevered = false;
    },
    close: () => server.close(),
  };
}

function pass(from: Socket, to: Socket, limit: number | null, cut: () => void): void {
  let passed = 0;
  from.on("data", (chunk: Buffer) => {
    const left = limit === null ? Infinity : limit - passed;
    passed += chunk.length;
    if (chunk.length > left) {
      if (left > 0) to.write(chunk.subarray(0, left), () => cut());
      else cut();
      from.pause();
    } else if (!to.write(chunk)) {
      from.pause();
      to.once("drain", () => from.resume());
    }
  });
  from.on("end", () => to.end());
}
