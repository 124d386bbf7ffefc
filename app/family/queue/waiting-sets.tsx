"use client";

import { useQueue } from "@/app/family/queue/use-queue";
import { WaitingSet } from "@/app/family/queue/waiting-set";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";

/** Whatever is on its way from this phone and was made by this person; nothing at all when there is nothing. */
export function WaitingSets({ personId, words }: { readonly personId: string; readonly words: Readonly<Record<string, string>> }) {
  const [queue, { entries, live }] = useQueue(personId);
  if (!queue || !entries || entries.length === 0) return null;
  return (
    <section aria-labelledby="on-its-way">
      <Stack>
        <Heading level={2} id="on-its-way">{words["title"]}</Heading>
        {entries.map((entry) => <WaitingSet key={entry.id} entry={entry} share={live?.id === entry.id ? live.share : null} queue={queue} words={words} />)}
      </Stack>
    </section>
  );
}
