import "server-only";
import { mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { createTransport, type Transporter } from "nodemailer";
import { dataDir } from "@/db/client";
import { normalisedAddress } from "@/lib/access/address";
import { mailFrom, messageId, type Mail } from "@/lib/notices/compose";

const SMTP_LIMIT_MS = 10_000;

/** Sends one mail, or throws. By SMTP when `SMTP_URL` is set, else as a file in the outbox folder. */
export async function sendMail(mail: Mail, now: number): Promise<void> {
  // The last door before headers are written: one address, nothing in it that ends a line or begins a second.
  if (normalisedAddress(mail.to) !== mail.to.toLowerCase()) throw Object.assign(new Error("not one plain address"), { code: "EADDRESS" });
  const url = process.env["SMTP_URL"];
  if (!url) return writeMail(mail, now);
  await transportFor(url).sendMail({
    from: mailFrom(),
    // An object, so that nothing in the address is parsed as a list or a name.
    to: { name: "", address: mail.to },
    subject: mail.subject, text: mail.text, messageId: messageId(mail.id), date: new Date(now), headers: Object.fromEntries(offHeaders(mail)),
    disableFileAccess: true, disableUrlAccess: true,
  });
}

/** RFC 8058, which asks for an https address. */
const offHeaders = ({ offUrl }: Mail): readonly (readonly [string, string])[] =>
  offUrl?.startsWith("https:") ? [["List-Unsubscribe", `<${offUrl}>`], ["List-Unsubscribe-Post", "List-Unsubscribe=One-Click"]] : [];

let transport: { readonly url: string; readonly mailer: Transporter } | null = null;

function transportFor(url: string): Transporter {
  if (transport?.url !== url) {
    const isHere = /@?(localhost|127\.[\d.]+|\[::1\])(:|\/|\?|$)/.test(url.replace(/^smtps?:\/\//, ""));
    transport = {
      url,
      mailer: createTransport({
        url, connectionTimeout: SMTP_LIMIT_MS, greetingTimeout: SMTP_LIMIT_MS, socketTimeout: SMTP_LIMIT_MS,
        // Codes do not travel in the clear, except to a mail server on this machine, whose certificate is often nobody's.
        requireTLS: !isHere, ignoreTLS: isHere,
      }),
    };
  }
  return transport.mailer;
}

const outboxFolder = (): string => join(dataDir(), "outbox");

/** RFC 5322 by hand: every line is ours, and links stay whole for whoever reads the file. */
function writeMail(mail: Mail, now: number): void {
  const at = new Date(now);
  const head = [
    `Date: ${at.toUTCString().replace("GMT", "+0000")}`, `From: ${mailFrom()}`, `To: ${mail.to}`, `Subject: ${mail.subject}`,
    `Message-ID: ${messageId(mail.id)}`, ...offHeaders(mail).map((header) => header.join(": ")), "MIME-Version: 1.0", "Content-Type: text/plain; charset=utf-8", "Content-Transfer-Encoding: 8bit",
  ];
  mkdirSync(outboxFolder(), { recursive: true, mode: 0o700 });
  const file = join(outboxFolder(), `${at.toISOString().replace(/[:.]/g, "-")}-${mail.id}.eml`);
  writeFileSync(`${file}.part`, [...head, "", mail.text, ""].join("\n").replace(/\r?\n/g, "\r\n"), { mode: 0o600 });
  renameSync(`${file}.part`, file);
}

export type WrittenMail = { readonly file: string; readonly to: string; readonly subject: string; readonly text: string };

/** The newest mails in the outbox folder; for the demo, where nobody has a mailbox. */
export function writtenMails(most: number): readonly WrittenMail[] {
  let files: string[];
  try {
    files = readdirSync(outboxFolder());
  } catch {
    return []; // nothing was ever sent
  }
  return files.filter((file) => file.endsWith(".eml")).sort().toReversed().slice(0, most).map((file) => {
    const [head = "", ...body] = readFileSync(join(outboxFolder(), file), "utf8").replace(/\r\n/g, "\n").split("\n\n");
    const field = (name: string): string => head.split("\n").find((line) => line.startsWith(`${name}: `))?.slice(name.length + 2) ?? "";
    return { file, to: field("To"), subject: field("Subject"), text: body.join("\n\n").trim() };
  });
}
