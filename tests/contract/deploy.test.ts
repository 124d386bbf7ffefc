import { expect, test } from "vitest";
import { TIME } from "@/lib/cli/time-limits.mjs";
import { HSTS } from "@/lib/cli/fixed-headers.mjs";
import { read } from "@/tests/contract/sources";

/** Directives of nginx's or systemd's, without comments. `npm run prove -- proxy` holds the first file to a real nginx. */
const lines = (path: string): readonly string[] => read(path).split("\n").map((line) => line.replace(/^\s*#.*$/, "").trim()).filter((line) => line !== "");
const nginx = lines("lib/deploy/nginx.conf");
const unit = lines("lib/deploy/trueside.service");

test.each([
  "proxy_set_header Host photos.example.org;", "proxy_set_header X-Forwarded-Host photos.example.org;", "proxy_set_header X-Forwarded-Proto https;",
  "proxy_set_header X-Forwarded-For $remote_addr;", 'proxy_set_header X-Real-IP "";', 'proxy_set_header Forwarded "";',
  'proxy_set_header x-middleware-subrequest "";', 'proxy_set_header Upgrade "";', "if ($http_upgrade) { return 400; }",
  "client_max_body_size 27m;", "proxy_request_buffering off;", "proxy_max_temp_file_size 0;", "proxy_cache off;", "proxy_next_upstream off;",
  "limit_conn trueside_address 50;", "add_header Retry-After $trueside_again always;", "ssl_protocols TLSv1.2 TLSv1.3;", "server_tokens off;", "proxy_hide_header Strict-Transport-Security;",
  `add_header Strict-Transport-Security "${HSTS}" always;`, `keepalive_timeout ${TIME.idle / 1000}s;`,
])("nginx: %s", (directive) => expect(nginx.filter((line) => line === directive)).toHaveLength(1));

test("a header has ten seconds, in the first server of the port too, from which nginx takes it", () => {
  expect(nginx.filter((line) => line === `client_header_timeout ${TIME.headers / 1000}s;`)).toHaveLength(2);
  const first = /server \{[^}]*default_server[^}]*\}/.exec(nginx.join("\n"))?.[0] ?? "";
  expect(first).toContain("client_header_timeout");
  expect(first).toContain("ssl_reject_handshake on;");
});

test("nginx waits longer than the app takes, so that the app's own sentence comes", () => {
  const seconds = Number(nginx.map((line) => /^proxy_read_timeout (\d+)s;$/.exec(line)?.[1]).find((found) => found));
  expect(seconds * 1000).toBeGreaterThan(Math.max(...Object.values(TIME.answer)));
});

test("a block with header lines of its own would lose all of the server's, so none has any", () => {
  const blocks = read("lib/deploy/nginx.conf").match(/location [^{]*\{[^}]*\}/g) ?? [];
  expect(blocks.length).toBeGreaterThan(3);
  for (const block of blocks) expect(block).not.toMatch(/proxy_set_header|add_header|proxy_hide_header/);
  expect(nginx.join("\n")).not.toMatch(/proxy_cache_path|proxy_cache [^o]|\$http_host|\$host\b|proxy_add_x_forwarded_for|Upgrade \$/);
});

test.each([
  "User=trueside", "NoNewPrivileges=yes", "ProtectSystem=strict", "ReadWritePaths=/srv/trueside", "ProtectHome=yes", "PrivateTmp=yes", "CapabilityBoundingSet=",
  "Restart=on-failure", "UMask=0077", "MemoryMax=1800M", "RestrictAddressFamilies=AF_INET AF_INET6 AF_UNIX", "IPAddressDeny=169.254.0.0/16",
])("systemd: %s", (directive) => expect(unit.filter((line) => line === directive)).toHaveLength(1));

test("systemd gives the app a real practice on loopback behind the proxy, and time to drain", () => {
  expect(unit.find((line) => line.startsWith("Environment="))).toBe("Environment=DEMO=0 DATA_DIR=/srv/trueside HOST=127.0.0.1 PORT=3000 TRUST_PROXY=1");
  const seconds = Number(unit.map((line) => /^TimeoutStopSec=(\d+)$/.exec(line)?.[1]).find((found) => found));
  expect(seconds * 1000).toBeGreaterThan(TIME.drain);
});

// ASVS 5.0, 16.4.1 and the practice's own figure of 14 files of 50 MB: what is written down must not fill the disk the photos lie on.
test("the app's journal is one of its own, and bounded", () => {
  expect(unit).toContain("LogNamespace=trueside");
  expect(lines("lib/deploy/trueside-journal.conf")).toEqual(expect.arrayContaining(["[Journal]", "SystemMaxFileSize=50M", "SystemMaxFiles=14", "SystemMaxUse=700M", "SystemKeepFree=10G"]));
  expect(read("lib/deploy/README.md")).toContain("cp lib/deploy/trueside-journal.conf /etc/systemd/journald@trueside.conf");
});
