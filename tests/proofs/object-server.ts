import { spawn, spawnSync, type ChildProcess } from "node:child_process";
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { connect } from "node:net";
import { tmpdir, userInfo } from "node:os";
import { join } from "node:path";
import { freePort } from "@/e2e/walk/port";
import type { BucketSettings } from "@/lib/media/bucket-settings";

/** `name` is that of a bucket which is not there yet, on a server of our own, or an empty one on the server that was named. */
export type ObjectServer = { readonly settings: BucketSettings; readonly isOurs: boolean; halt(): void; goOn(): void; stop(): Promise<void> };

const PACKAGES = ["memcached", "swift-proxy", "swift-account", "swift-container", "swift-object"];
const KINDS = ["account", "container", "object"] as const;
const [ACCOUNT, USER, SECRET] = ["practice", "app", "a-secret-of-this-proof-alone"];
const REGION = "eu-proof-1";

/** The server that the environment names. */
export function namedServer(): ObjectServer | null {
  const env = process.env;
  const endpoint = env["PROOF_BUCKET_ENDPOINT"];
  if (!endpoint) return null;
  const settings = {
    endpoint, name: env["PROOF_BUCKET_NAME"] ?? "", region: env["PROOF_BUCKET_REGION"] ?? "", keyId: env["PROOF_BUCKET_KEY_ID"] ?? "", secretFile: env["PROOF_BUCKET_SECRET_FILE"] ?? "",
  };
  return { settings, isOurs: false, halt: () => undefined, goOn: () => undefined, stop: async () => undefined };
}

/** Debian's own packages, taken when this account may; a sentence when it may not. */
export function whyNoSwift(): string | null {
  if (hasSwift()) return null;
  const how = `OpenStack Swift is needed: apt-get install --no-install-recommends ${PACKAGES.join(" ")}, then again; or name an S3-compatible server by PROOF_BUCKET_ENDPOINT.`;
  if (process.getuid?.() !== 0) return how;
  spawnSync("apt-get", ["install", "--yes", "--no-install-recommends", ...PACKAGES], { stdio: "ignore", env: { ...process.env, DEBIAN_FRONTEND: "noninteractive" } });
  return hasSwift() ? null : how;
}

const hasSwift = (): boolean => ["memcached", "swift-ring-builder", "swift-proxy-server", "swift-object-server"].every((program) => spawnSync("which", [program]).status === 0);

/** A whole store on loopback, one disk, one copy, with its S3 door: five processes and a folder that is removed. */
export async function startSwift(): Promise<ObjectServer> {
  const dir = mkdtempSync(join(tmpdir(), "trueside-swift-"));
  const children: ChildProcess[] = [];
  const stop = async (): Promise<void> => {
    await Promise.all(children.map((child) => new Promise<void>((resolve) => {
      if (child.exitCode !== null || child.signalCode !== null) return resolve();
      child.once("close", () => resolve());
      child.kill("SIGCONT");
      child.kill("SIGKILL");
    })));
    rmSync(dir, { recursive: true, force: true });
  };
  try {
    mkdirSync(join(dir, "disks", "one"), { recursive: true });
    writeFileSync(join(dir, "swift.conf"), "[swift-hash]\nswift_hash_path_suffix = proof\nswift_hash_path_prefix = proof\n[storage-policy:0]\nname = one\ndefault = yes\n");
    const start = (program: string, port: number, args: readonly string[]): Promise<void> => {
      const child = spawn(program, args, { stdio: ["ignore", "ignore", "pipe"] });
      let said = "";
      child.stderr.setEncoding("utf8").on("data", (text: string) => (said = `${said}${text}`.slice(-2000)));
      children.push(child);
      return Promise.race([listens(port), new Promise<never>((_, reject) => {
        child.once("error", reject).once("close", () => reject(new Error(`${program} ended: ${said}`)));
      })]);
    };
    const startPart = (kind: string, port: number, conf: string): Promise<void> => {
      writeFileSync(join(dir, `${kind}.conf`), conf);
      return start(`swift-${kind}-server`, port, [join(dir, `${kind}.conf`)]);
    };
    for (const kind of KINDS) {
      const port = await freePort();
      buildRing(dir, kind, port);
      await startPart(kind, port, storageConf(dir, kind, port));
    }
    const port = await freePort();
    const cache = await freePort();
    await start("memcached", cache, ["-l", "127.0.0.1", "-p", String(cache), "-U", "0", "-u", userInfo().username]);
    await startPart("proxy", port, proxyConf(dir, port, cache));
    writeFileSync(join(dir, "secret"), `${SECRET}\n`);
    const proxy = children.at(-1);
    return {
      settings: { name: "trueside-proof", endpoint: `http://127.0.0.1:${port}`, region: REGION, keyId: `${ACCOUNT}:${USER}`, secretFile: join(dir, "secret") },
      isOurs: true, halt: () => void proxy?.kill("SIGSTOP"), goOn: () => void proxy?.kill("SIGCONT"), stop,
    };
  } catch (error) {
    await stop();
    throw error;
  }
}

function buildRing(dir: string, kind: string, port: number): void {
  const builder = join(dir, `${kind}.builder`);
  for (const args of [["create", "6", "1", "0"], ["add", `r1z1-127.0.0.1:${port}/one`, "1"], ["rebalance"]]) {
    const ran = spawnSync("swift-ring-builder", [builder, ...args], { encoding: "utf8" });
    // 1 is a warning.
    if (ran.status === null || ran.status > 1) throw new Error(`no ring was made: ${ran.stdout}${ran.stderr}`);
  }
}

const common = (dir: string, port: number): string =>
  `[DEFAULT]\nbind_ip = 127.0.0.1\nbind_port = ${port}\nworkers = 0\nuser = ${userInfo().username}\nswift_dir = ${dir}\nlog_address = ${dir}/no-log\n`;

const storageConf = (dir: string, kind: string, port: number): string =>
  `${common(dir, port)}devices = ${dir}/disks\nmount_check = false\nrecon_cache_path = ${dir}\n[pipeline:main]\npipeline = ${kind}-server\n[app:${kind}-server]\nuse = egg:swift#${kind}\n`;

const proxyConf = (dir: string, port: number, cache: number): string => `${common(dir, port)}[pipeline:main]
pipeline = catch_errors cache s3api tempauth copy slo dlo versioned_writes symlink proxy-server
[filter:catch_errors]
use = egg:swift#catch_errors
[filter:cache]
use = egg:swift#memcache
memcache_servers = 127.0.0.1:${cache}
[filter:s3api]
use = egg:swift#s3api
location = ${REGION}
[filter:tempauth]
use = egg:swift#tempauth
user_${ACCOUNT}_${USER} = ${SECRET} .admin
[filter:copy]
use = egg:swift#copy
[filter:slo]
use = egg:swift#slo
[filter:dlo]
use = egg:swift#dlo
[filter:versioned_writes]
use = egg:swift#versioned_writes
allow_object_versioning = true
[filter:symlink]
use = egg:swift#symlink
[app:proxy-server]
use = egg:swift#proxy
account_autocreate = true
`;

async function listens(port: number): Promise<void> {
  for (let tries = 0; tries < 600; tries += 1) {
    const isOpen = await new Promise<boolean>((resolve) => {
      const probe = connect(port, "127.0.0.1", () => {
        probe.destroy();
        resolve(true);
      });
      probe.on("error", () => resolve(false));
    });
    if (isOpen) return;
    await new Promise((resolve) => { setTimeout(resolve, 100); });
  }
  throw new Error("a part of Swift did not start");
}
