import type { ReactNode } from "react";
import { Places, type Place } from "@/app/ui/places";
import styles from "@/app/ui/shell.module.css";

function Shell({ kind, words, places, current, end, demoWords, children }: {
  readonly kind: "family" | "desk" | "open";
  readonly words: { readonly product: string; readonly skip: string };
  readonly places: readonly Place[];
  readonly current?: string | undefined;
  readonly end?: ReactNode;
  readonly demoWords?: string | undefined;
  readonly children: ReactNode;
}) {
  return (
    <div className={styles.shell} data-kind={kind}>
      <a className={styles.skip} href="#main">{words.skip}</a>
      <header className={styles.above}>
        {demoWords ? <p className={styles.demo}>{demoWords}</p> : null}
        <div className={styles.top}>
          <p className={styles.product}>
            <svg className={styles.sign} viewBox="0 0 18 28" aria-hidden="true" focusable="false">
              <path className={styles.spine} d="M7 2c7 5 7 9 0 13s-5 8 0 11" />
              <circle className={styles.apex} cx="12" cy="8.500" r="3.500" />
            </svg>
            {words.product}
          </p>
          {places.length > 0 ? <Places places={places} label={words.product} current={current} /> : null}
          {end ? <div className={styles.end}>{end}</div> : null}
        </div>
      </header>
      <main id="main" className={styles.main} tabIndex={-1}>{children}</main>
    </div>
  );
}

type FamilyPlace = "today" | "send" | "history" | "account";
const FAMILY: Readonly<Record<FamilyPlace, string>> = { today: "/family", send: "/family/send", history: "/family/history", account: "/family/account" };

/** One column, today's go-ahead first. Without `current` the address says which place is marked. */
export function FamilyShell({ current, words, demoWords, children }: {
  readonly current?: FamilyPlace;
  readonly words: Readonly<Record<FamilyPlace | "product" | "skip", string>>;
  readonly demoWords?: string | undefined;
  readonly children: ReactNode;
}) {
  const places = (["today", "send", "history", "account"] as const).map((key) => ({ href: FAMILY[key], word: words[key] }));
  return <Shell kind="family" words={words} places={places} current={current && FAMILY[current]} demoWords={demoWords}>{children}</Shell>;
}

type DeskPlace = "queue" | "families" | "caseload" | "sessions" | "teaching" | "times" | "practice";
const DESK: Readonly<Record<DeskPlace, string>> = { queue: "/desk", families: "/desk/families", caseload: "/desk/caseload", sessions: "/desk/sessions", teaching: "/desk/teaching", times: "/desk/times", practice: "/desk/practice" };

/** The therapist's side: wide, with what waits counted beside its place, and room at the end for signing out. */
export function DeskShell({ current, words, counts, end, demoWords, children }: {
  readonly current?: DeskPlace;
  readonly words: Readonly<Record<DeskPlace | "product" | "skip", string>>;
  readonly counts?: { readonly queue?: number };
  readonly end?: ReactNode;
  readonly demoWords?: string | undefined;
  readonly children: ReactNode;
}) {
  const places = (["queue", "families", "caseload", "sessions", "teaching", "times", "practice"] as const).map((key) => ({
    href: DESK[key], word: words[key], note: key === "queue" ? counts?.queue?.toString() : undefined,
  }));
  return <Shell kind="desk" words={words} places={places} current={current && DESK[current]} end={end} demoWords={demoWords}>{children}</Shell>;
}

/** Before anybody is known: no places. */
export function OpenShell({ words, demoWords, children }: {
  readonly words: { readonly product: string; readonly skip: string };
  readonly demoWords?: string | undefined;
  readonly children: ReactNode;
}) {
  return <Shell kind="open" words={words} places={[]} demoWords={demoWords}>{children}</Shell>;
}
