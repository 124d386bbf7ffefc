"use client";

import { RefusedSet } from "@/app/family/queue/refused-set";
import { filled, TakeOut, type SetParts } from "@/app/family/queue/take-out";
import { Button, ButtonLink } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Progress } from "@/app/ui/progress";
import { Row, Stack } from "@/app/ui/stack";
import type { Entry } from "@/lib/domain/sending/entry";

/** One set on its way: whose it is, how it stands, and what can be done. What was noticed and not told comes first. */
export function WaitingSet({ entry, share, queue, words }: SetParts & { readonly share: number | null }) {
  const { state, report, photos } = entry;
  const [made, sent] = [clock(entry.madeAt), state.at === "sent" ? clock(state.on) : ""];
  return (
    <section aria-label={entry.called}>
      <Stack gap="small">
        {report && state.at !== "sent" ? (
          <Notice kind="stop" title={words[report.tier]}>
            <p><strong>{words["notTold"]}</strong> {words["notToldDo"]}</p>
          </Notice>
        ) : null}
        <p><strong>{entry.called}</strong>. {filled(words[photos.length === 1 ? "madeOne" : "made"], { n: photos.length, when: made })}</p>
        {state.at === "refused" ? <RefusedSet entry={entry} queue={queue} words={words} code={state} /> : (
          <div aria-live="polite">
            {state.at === "sent" ? <Notice kind="done">{filled(words["sent"], { when: sent })}</Notice>
              : share === null ? <Notice kind="info">{stands(entry, words)}</Notice> : <Progress label={words["sending"] ?? ""} value={share} />}
          </div>
        )}
        {state.at === "sent" ? <Button kind="quiet" onClick={() => void queue.takeOut(entry.id)}>{words["seen"]}</Button> : null}
        {state.at === "held" && state.because !== "old-page" ? <ButtonLink href="/sign-in?then=/family">{words["signIn"]}</ButtonLink> : null}
        {state.at === "held" && state.because === "old-page" ? <Button onClick={() => window.location.reload()}>{words["reload"]}</Button> : null}
        {share === null && (state.at === "waiting" || state.at === "held") ? (
          <Row>
            {state.at === "waiting" && state.because !== "busy" ? <Button kind="quiet" onClick={() => void queue.press(entry.id)}>{words["tryNow"]}</Button> : null}
            <TakeOut entry={entry} queue={queue} words={words} />
          </Row>
        ) : null}
      </Stack>
    </section>
  );
}

const HELD = { "signed-out": "signedOut", "other-person": "otherPerson", "old-page": "oldPage" } as const;
const WAITS = { new: "sending", line: "waitLine", server: "waitServer", full: "waitFull", busy: "waitBusy" } as const;

const stands = ({ state }: Entry, words: SetParts["words"]): string | undefined =>
  state.at === "held" ? words[HELD[state.because]]
    : state.at === "waiting" ? filled(words[WAITS[state.because]], { when: clock(state.until) }) : undefined;

/** By the phone's own clock and habits: the set was made, and waits, here. */
const clock = (at: number): string => new Date(at).toLocaleString(document.documentElement.lang, { weekday: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
