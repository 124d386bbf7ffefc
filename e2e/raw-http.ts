import { connect, type Socket } from "node:net";

export type RawAnswer = { readonly status: number; readonly headers: ReadonlyMap<string, string>; readonly body: string; readonly ms: number };

/** A connection on which a test writes the bytes of HTTP itself, well formed or not. */
export class RawConnection {
  readonly #socket: Socket;
  readonly #answer: Promise<RawAnswer>;

  constructor(port: number, bytes: string) {
    const began = performance.now();
    this.#socket = connect(port, "127.0.0.1", () => this.#socket.write(bytes));
    this.#answer = new Promise((resolve) => {
      let text = "";
      this.#socket.setEncoding("latin1").on("data", (part) => (text += part));
      this.#socket.on("error", () => {});
      this.#socket.once("close", () => resolve(parse(text, performance.now() - began)));
    });
  }

  write(bytes: string): void {
    this.#socket.write(bytes);
  }

  /** What came until the server closed; status 0 when it said nothing. */
  answer(): Promise<RawAnswer> {
    return this.#answer;
  }

  end(): void {
    this.#socket.destroy();
  }
}

/** One request, answered to the end of the connection. */
export function rawRequest(port: number, lines: readonly string[]): Promise<RawAnswer> {
  return new RawConnection(port, `${[...lines, "Connection: close"].join("\r\n")}\r\n\r\n`).answer();
}

function parse(text: string, ms: number): RawAnswer {
  const [head = "", ...rest] = text.split("\r\n\r\n");
  const [first = "", ...lines] = head.split("\r\n");
  const headers = new Map(lines.map((line) => {
    const colon = line.indexOf(":");
    return [line.slice(0, colon).toLowerCase(), line.slice(colon + 1).trim()] as const;
  }));
  return { status: Number(first.split(" ")[1] ?? 0), headers, body: rest.join("\r\n\r\n"), ms };
}
