import { takeBackAction } from "@/app/desk/children/[childId]/sets/[photoSetId]/actions";
import { SentCount } from "@/app/desk/sent-count";
import styles from "@/app/desk/sent-bar.module.css";
import { ActionForm } from "@/app/ui/action-form";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { say } from "@/lib/messages/say";
import { pendingAnswers } from "@/lib/records/take-back";

const SECOND_MS = 1000;

/** What this person sent a moment ago, each with the way to take it back while the family has not read it. */
export async function SentBar({ actor, now }: { readonly actor: Actor; readonly now: number }) {
  const t = say("drafts");
  const mine = (await pendingAnswers(await grant(actor, "queue.read", null), now)).filter((answer) => answer.isMine);
  if (mine.length === 0) return null;
  return (
    <section className={styles.bar} aria-label={t("bar")}>
      {mine.map((answer) => (
        <ActionForm key={answer.answerId} action={takeBackAction} once={crypto.randomUUID()} childId={answer.childId}>
          <div className={styles.one}>
            <input type="hidden" name="answerId" value={answer.answerId} />
            <SentCount seconds={Math.ceil((answer.publishedAt - now) / SECOND_MS)} personId={actor.personId} photoSetId={answer.photoSetId}
              words={t("sent", { child: answer.childName, seconds: "{seconds}" })} out={t("sentOut", { child: answer.childName })}>
              <SubmitButton kind="quiet" pending={t("takingBack")}>{t("takeBack")}</SubmitButton>
            </SentCount>
          </div>
        </ActionForm>
      ))}
    </section>
  );
}
