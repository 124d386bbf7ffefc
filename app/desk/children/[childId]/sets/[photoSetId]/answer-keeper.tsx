"use client";

import { usePathname } from "next/navigation";
import { useRef, useState } from "react";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/answering.module.css";
import { draftRows } from "@/app/desk/children/[childId]/sets/[photoSetId]/draft-rows";
import type { KeeperWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/keeper-words";
import { TwoVersions } from "@/app/desk/children/[childId]/sets/[photoSetId]/two-versions";
import { useClaim } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-claim";
import { useDraft, type OtherDraft } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-draft";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import type { DraftFields } from "@/lib/domain/answering/draft-fields";

/** Keeps the draft as the form changes, in this browser and on the server, and renews the claim. */
export function AnswerKeeper({ childId, photoSetId, personId, version, stored, isAmending, words }: {
  readonly childId: string;
  readonly photoSetId: string;
  readonly personId: string;
  readonly version: number;
  /** The draft the page was made from. */
  readonly stored: DraftFields;
  readonly isAmending: boolean;
  readonly words: KeeperWords;
}) {
  const mark = useRef<HTMLDivElement>(null);
  const path = usePathname();
  const { held, takeOver } = useClaim(childId, photoSetId, !isAmending);
  const { status, other, choose } = useDraft(mark, { childId, photoSetId, personId, version, stored });
  return (
    <div ref={mark}>
      {words.restored ? <p className={styles.status}>{words.restored}</p> : null}
      {held.by === "colleague" || held.by === "taken-over" ? (
        <Notice kind="caution">
          <p>{words[held.by].replace("{name}", held.name)}</p>
          <p><Button kind="quiet" onClick={takeOver}>{words.takeOver}</Button></p>
        </Notice>
      ) : null}
      {held.by === "answered" ? <Notice kind="caution"><p>{words.answered} <a href={path}>{words.look}</a></p></Notice> : null}
      <output className={styles.status}>{status === "saving" || status === "saved" ? words[status] : ""}</output>
      {status === "no-server" || status === "not-kept" || status === "sent-elsewhere" ? <Notice kind="problem">{words[status]}</Notice> : null}
      {status === "signed-out" ? (
        <Notice kind="problem">{words["signed-out"]} <a href={`/sign-in?then=${encodeURIComponent(path)}`}>{words.signIn}</a></Notice>
      ) : null}
      {other ? <Choosing other={other} words={words} choose={choose} /> : null}
    </div>
  );
}

/** Both drafts part by part; at first the one that was written without the other, which is the newer one. */
function Choosing({ other, words, choose }: { readonly other: OtherDraft; readonly words: KeeperWords; readonly choose: (names: readonly string[]) => void }) {
  const rows = draftRows(other.here, other.there, words.draft);
  const [fromTwo, setFromTwo] = useState<ReadonlySet<string>>(() => new Set(other.from === "computer" ? rows.map((row) => row.name) : []));
  const take = (name: string, isTwo: boolean) => setFromTwo((before) => {
    const after = new Set(before);
    if (isTwo) after.add(name);
    else after.delete(name);
    return after;
  });
  return (
    <Notice kind="problem">
      <p>{words.offer[other.from]}</p>
      <TwoVersions rows={rows} words={{ ...words.versions, one: words.here, two: words.there[other.from] }} choose={{ word: words.choose, fromTwo, take }} />
      <p><Button onClick={() => choose([...fromTwo])}>{words.goOn}</Button></p>
    </Notice>
  );
}
