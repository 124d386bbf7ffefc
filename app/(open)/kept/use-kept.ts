"use client";

import { useCallback, useEffect, useMemo, useRef, useState, useSyncExternalStore } from "react";
import { choose, onChange, personHere } from "@/app/family/kept/here";
import { contentsOf, forget, noteSeen, writeDown, type Contents, type KeptReport, type KeptTry } from "@/app/family/kept/store";
import { sync, type Contact } from "@/app/family/kept/sync";
import { viewOf, type KeptView } from "@/lib/domain/kept/view";

/** Often enough for a date that passes while the page lies open. */
const TICK_MS = 30_000;

/** What is kept on this phone for whoever it belongs to now, judged at the phone's clock, and the line to the server. */
export function useKept() {
  const personId = useSyncExternalStore(onChange, personHere, () => null);
  const [contents, setContents] = useState<Contents | null>(null);
  const made = useRef(new Map<string, string>());
  const [addresses, setAddresses] = useState<ReadonlyMap<string, string>>(new Map());
  const [now, setNow] = useState(0);
  const [contact, setContact] = useState<Contact>("silent");
  /** Said on this page; they count at once, written down or not. */
  const [said, setSaid] = useState<{ readonly reports: readonly KeptReport[]; readonly tries: readonly KeptTry[] }>({ reports: [], tries: [] });
  const [isLost, setIsLost] = useState(false);

  const look = useCallback(async () => {
    const found = personId === null ? null : await contentsOf(personId);
    // Together, and the clock read last: judged at an earlier moment, what was noted since looks like a clock set back.
    const at = Date.now();
    if (found) setContents(found);
    if (found) setAddresses(addressed(made.current, found));
    setNow(at);
    if (personId !== null) await noteSeen(personId, at);
  }, [personId]);

  useEffect(() => {
    const reach = async () => {
      await look().catch(() => setNow(Date.now()));
      if (personId === null) return;
      setContact(await sync(personId).catch(() => "silent" as const));
      await look().catch(() => undefined); // what was read before still holds
    };
    const go = () => void reach();
    const seen = () => {
      if (document.visibilityState === "visible") go();
    };
    go();
    const clock = setInterval(go, TICK_MS);
    window.addEventListener("online", go);
    document.addEventListener("visibilitychange", seen);
    return () => {
      clearInterval(clock);
      window.removeEventListener("online", go);
      document.removeEventListener("visibilitychange", seen);
    };
  }, [look, personId]);

  const view = useMemo((): KeptView => {
    if (!contents || (contents.row && contents.row.personId !== personId)) return { is: "nothing" };
    const { row, reports, tries } = contents;
    return viewOf(row, { reports: [...reports, ...said.reports], tries: [...tries, ...said.tries] }, now);
  }, [contents, now, personId, said]);

  /** What could not be written down stays on this page, and nowhere else. */
  const written = async (key: string) => {
    await look();
    const others = <S extends { readonly key: string }>(list: readonly S[]) => list.filter((each) => each.key !== key);
    setSaid(({ reports, tries }) => ({ reports: others(reports), tries: others(tries) }));
    if (personId !== null) setContact(await sync(personId));
    await look();
  };

  return {
    personId, view, contact, isLost,
    /** Nothing is kept here but a report of something that hurts. */
    isToldOnly: contents?.reports.some((each) => each.sentAt === null) ?? false,
    isRead: now > 0, addresses,
    report: (report: KeptReport) => {
      setSaid((before) => ({ ...before, reports: [...before.reports, report] }));
      writeDown("reports", report).then(() => void written(report.key).catch(() => undefined), () => setIsLost(true)); // a line that fails is tried again by the clock
    },
    answer: (answered: KeptTry) => {
      setSaid((before) => ({ ...before, tries: [...before.tries, answered] }));
      writeDown("tries", answered).then(() => written(answered.key)).catch(() => undefined); // asked again with signal, where no answer arrived
    },
    drop: async () => {
      if (personId === null) return;
      choose(personId, "not-now");
      await forget("own", personId);
      await look();
    },
  };
}

/** Where in this page each picture and note is to be had, by its address at the server; the same place while it is there, so that a note plays on. */
function addressed(made: Map<string, string>, { media }: Contents): ReadonlyMap<string, string> {
  for (const [address, here] of made) {
    if (media.some((each) => each.address === address)) continue;
    URL.revokeObjectURL(here);
    made.delete(address);
  }
  for (const { address, bytes, type } of media) if (!made.has(address)) made.set(address, URL.createObjectURL(new Blob([bytes], { type })));
  return new Map(made);
}
