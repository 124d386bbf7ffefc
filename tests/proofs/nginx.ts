import { spawn, spawnSync } from "node:child_process";
import { chmodSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { connect, createServer, type AddressInfo } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { connect as connectTls, type TLSSocket } from "node:tls";
import { read } from "@/tests/contract/sources";

export type Ports = { readonly tls: number; readonly plain: number; readonly app: number };
export type Nginx = { readonly certificate: Buffer; stop(): Promise<void>; log(): string };

/** Debian's own packages, taken when this account may; a sentence when it may not. */
export function whyNoNginx(): string | null {
  if (hasPrograms()) return null;
  const how = "nginx and openssl are needed: apt-get install nginx openssl, then again.";
  if (process.getuid?.() !== 0) return how;
  spawnSync("apt-get", ["install", "--yes", "--no-install-recommends", "nginx", "openssl"], { stdio: "ignore", env: { ...process.env, DEBIAN_FRONTEND: "noninteractive" } });
  return hasPrograms() ? null : how;
}

const hasPrograms = (): boolean => [["nginx", "-v"], ["openssl", "version"]].every(([program = "", ask = ""]) => spawnSync(program, [ask]).status === 0);

/** The file an administrator copies, with another name, other ports and folders in it, and nothing else changed. */
export function moved(text: string, dir: string, { tls, plain, app }: Ports): string {
  return text
    .replaceAll(/^ *listen \[::\].*\n/gm, "")
    .replaceAll("listen 443", `listen 127.0.0.1:${tls}`).replaceAll("listen 80", `listen 127.0.0.1:${plain}`)
    .replaceAll("server 127.0.0.1:3000", `server 127.0.0.1:${app}`)
    .replaceAll("Host photos.example.org", `Host localhost:${tls}`).replaceAll("https://photos.example.org", `https://localhost:${tls}`)
    .replaceAll("photos.example.org", "localhost")
    .replaceAll("/etc/trueside/tls", dir).replaceAll("/var/log/nginx", dir).replaceAll("/var/www/acme", join(dir, "acme"));
}

/** nginx with `lib/deploy/nginx.conf` on loopback, and a certificate made for it alone. */
export async function startNginx(ports: Ports): Promise<Nginx> {
  const dir = mkdtempSync(join(tmpdir(), "trueside-nginx-"));
  chmodSync(dir, 0o755); // the workers are another account
  const made = spawnSync("openssl", [
    "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost",
    "-keyout", join(dir, "key.pem"), "-out", join(dir, "fullchain.pem"),
  ]);
  if (made.status !== 0) throw new Error("openssl made no certificate");
  mkdirSync(join(dir, "acme", ".well-known", "acme-challenge"), { recursive: true });
  writeFileSync(join(dir, "acme", ".well-known", "acme-challenge", "token"), "proof");
  writeFileSync(join(dir, "site.conf"), moved(read("lib/deploy/nginx.conf"), dir, ports));
  const temporary = ["client_body", "proxy", "fastcgi", "uwsgi", "scgi"].map((name) => `${name}_temp_path ${dir}/${name};`).join(" ");
  writeFileSync(join(dir, "nginx.conf"), `daemon off; pid ${dir}/pid; error_log ${dir}/error.log; events {} http { access_log off; ${temporary} include ${dir}/site.conf; }`);
  const child = spawn("nginx", ["-p", dir, "-c", join(dir, "nginx.conf")], { stdio: ["ignore", "ignore", "pipe"] });
  let said = "";
  child.stderr.setEncoding("utf8").on("data", (text) => (said += text));
  const ended = new Promise<void>((resolve) => child.once("close", () => resolve()));
  const stop = async (): Promise<void> => {
    child.kill("SIGTERM");
    await ended;
    rmSync(dir, { recursive: true, force: true });
  };
  const isUp = await Promise.race([ended.then(() => false), listens(ports.tls)]);
  if (!isUp) {
    await stop();
    throw new Error(`nginx did not start: ${said}`);
  }
  return { certificate: readFileSync(join(dir, "fullchain.pem")), stop, log: () => readFileSync(join(dir, "trueside-access.log"), "utf8") };
}

async function listens(port: number): Promise<boolean> {
  for (;;) {
    const isOpen = await new Promise<boolean>((resolve) => {
      const probe = connectTls({ port, host: "127.0.0.1", servername: "localhost", rejectUnauthorized: false }, () => {
        probe.destroy();
        resolve(true);
      });
      probe.on("error", () => resolve(false));
    });
    if (isOpen) return true;
    await new Promise((resolve) => { setTimeout(resolve, 50); });
  }
}

/** TLS to nginx from one loopback address. */
export const tlsFrom = (localAddress: string, port: number, ca: Buffer, ALPNProtocols: string[] = []): TLSSocket =>
  connectTls({ socket: connect({ port, host: "127.0.0.1", localAddress }), servername: "localhost", ca, ALPNProtocols });

/** A port on which plain HTTP is spoken that goes on by TLS to nginx, from a loopback address of its own: another client's. */
export async function openTlsLine(target: number, certificate: Buffer, from: string): Promise<{ readonly port: number; close(): void }> {
  const server = createServer((near) => {
    const far = tlsFrom(from, target, certificate);
    near.pipe(far).pipe(near);
    const end = (): void => {
      near.destroy();
      far.destroy();
    };
    for (const socket of [near, far]) socket.on("error", end).on("close", end);
  });
  await new Promise<void>((resolve) => { server.listen(0, "127.0.0.1", resolve); });
  return { port: (server.address() as AddressInfo).port, close: () => server.close() }; // listening on TCP
}
