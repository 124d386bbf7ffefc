"use client";

import Link from "next/link";
import { usePathname } from "next/navigation";
import { placeOf } from "@/app/ui/place-of";
import styles from "@/app/ui/shell.module.css";

export type Place = { readonly href: string; readonly word: string; readonly note?: string | undefined };

/** The places of one side of the product. Marks the one the address lies in, or `current` when it is said. */
export function Places({ places, label, current }: {
  readonly places: readonly Place[];
  readonly label: string;
  /** The `href` of a place. */
  readonly current?: string | undefined;
}) {
  const path = usePathname();
  const here = current ?? placeOf(path, places.map((place) => place.href));
  return (
    <nav className={styles.places} aria-label={label}>
      {places.map(({ href, word, note }) => (
        <Link key={href} href={href} prefetch={false} className={styles.place} aria-current={href === here ? "page" : undefined}>
          {word}{note ? <span className={styles.count}> {note}</span> : null}
        </Link>
      ))}
    </nav>
  );
}
