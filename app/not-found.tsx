import type { Metadata } from "next";
import Link from "next/link";
import { connection } from "next/server";
import styles from "@/app/plain-page.module.css";
import { readerNow } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("common", await readerNow())("notHere.title") });

/** Shown alike for what does not exist and for what is not yours to see. */
export default async function NotFound() {
  // A page made ahead of time has no nonce, and the browser would refuse its scripts.
  await connection();
  const words = say("common", await readerNow());
  return (
    <main className={styles.page}>
      <h1>{words("notHere.title")}</h1>
      <p>{words("notHere.why")}</p>
      <p>
        <Link href="/">{words("notHere.first")}</Link>
      </p>
    </main>
  );
}
