import Link from "next/link";
import styles from "@/app/desk/queue.module.css";
import { Row } from "@/app/ui/stack";
import { say } from "@/lib/messages/say";

/** The way through a long list; nothing where one page holds it. */
export function Pages({ page, pages, addressOf }: { readonly page: number; readonly pages: number; readonly addressOf: (page: number) => string }) {
  const t = say("desk");
  if (pages === 1) return null;
  return (
    <nav aria-label={t("pages.name")}>
      <Row>
        {page > 1 ? <Link href={addressOf(page - 1)} prefetch={false} rel="prev" className={styles.filter}>{t("pages.previous")}</Link> : null}
        <span>{t("pages.at", { page, pages })}</span>
        {page < pages ? <Link href={addressOf(page + 1)} prefetch={false} rel="next" className={styles.filter}>{t("pages.next")}</Link> : null}
      </Row>
    </nav>
  );
}

/** Which page an address asks for; what it does not say rightly is the first. */
export function pageIn(asked: string | string[] | undefined): number {
  return typeof asked === "string" && /^[1-9]\d{0,8}$/.test(asked) ? Number(asked) : 1;
}
