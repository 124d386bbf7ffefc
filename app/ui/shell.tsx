import Link from "next/link";
import type { ReactNode } from "react";
import styles from "@/app/ui/shell.module.css";

type Place = { readonly key: string; readonly href: string; readonly word: string; readonly note?: string | undefined };

function Shell({ kind, words, places, current, end, demoWords, children }: {
  readonly kind: "family" | "desk" | "open";
  readonly words: { readonly product: string; readonly skip: string };
  readonly places: readonly Place[];
  readonly current?: string;
  readonly end?: ReactNode;
  readonly demoWords?: string | undefined;
  readonly children: ReactNode;
}) {
  return (
    <div className={styles.shell} data-kind={kind}>
      <a className={styles.skip} href="#main">{words.skip}</a>
      {demoWords ? <p className={styles.demo}>{demoWords}</p> : null}
      <header className={styles.top}>
        <p className={styles.product}>{words.product}</p>
        {places.length > 0 ? (
          <nav className={styles.places} aria-label={words.product}>
            {places.map((place) => (
              <Link key={place.key} href={place.href} prefetch={false} className={styles.place} aria-current={place.key === current ? "page" : undefined}>
                {place.word}{place.note ? <span className={styles.count}> {place.note}</span> : null}
              </Link>
            ))}
          </nav>
        ) : null}
        {end ? <div className={styles.end}>{end}</div> : null}
      </header>
      <main id="main" className={styles.main} tabIndex={-1}>{children}</main>
    </div>
  );
}

type FamilyPlace = "today" | "send" | "history" | "account";

/** One column, today's go-ahead first. */
export function FamilyShell({ current, words, demoWords, children }: {
  readonly current?: FamilyPlace;
  readonly words: Readonly<Record<FamilyPlace | "product" | "skip", string>>;
  readonly demoWords?: string | undefined;
  readonly children: ReactNode;
}) {
  const places = [
    { key: "today", href: "/family", word: words.today },
    { key: "send", href: "/family/send", word: words.send },
    { key: "history", href: "/family/history", word: words.history },
    { key: "account", href: "/family/account", word: words.account },
  ];
  return <Shell kind="family" words={words} places={places} {...(current ? { current } : {})} demoWords={demoWords}>{children}</Shell>;
}

type DeskPlace = "queue" | "families" | "times" | "practice";

/** The therapist's side: wide, with what waits counted beside its place. */
export function DeskShell({ current, words, counts, end, demoWords, children }: {
  readonly current?: DeskPlace;
  readonly words: Readonly<Record<DeskPlace | "product" | "skip", string>>;
  readonly counts?: { readonly queue?: number };
  readonly end?: ReactNode;
  readonly demoWords?: string | undefined;
  readonly children: ReactNode;
}) {
  const places = [
    { key: "queue", href: "/desk", word: words.queue, note: counts?.queue === undefined ? undefined : String(counts.queue) },
    { key: "families", href: "/desk/families", word: words.families },
    { key: "times", href: "/desk/times", word: words.times },
    { key: "practice", href: "/desk/practice", word: words.practice },
  ];
  return <Shell kind="desk" words={words} places={places} {...(current ? { current } : {})} end={end} demoWords={demoWords}>{children}</Shell>;
}

/** Before anybody is known. */
export function OpenShell({ words, demoWords, children }: {
  readonly words: { readonly product: string; readonly skip: string };
  readonly demoWords?: string | undefined;
  readonly children: ReactNode;
}) {
  return <Shell kind="open" words={words} places={[]} demoWords={demoWords}>{children}</Shell>;
}
