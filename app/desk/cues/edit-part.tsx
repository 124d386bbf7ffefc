import Link from "next/link";
import { retireCueAction, saveCueAction } from "@/app/desk/cues/actions";
import { CueEditor } from "@/app/desk/cues/cue-editor";
import { CueRef } from "@/app/desk/cues/cue-row";
import { cuesAddress, editorWords, shownSetups } from "@/app/desk/cues/words";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Exercise } from "@/lib/domain/setup/exercise";
import { say } from "@/lib/messages/say";
import type { LibraryCue } from "@/lib/records/cues";

/** A new cue of an item, or one of its cues in hand, in the place where it stands in the list. */
export function EditPart({ exercise, itemKey, itemTitle, cue }: {
  readonly exercise: Exercise;
  readonly itemKey: string;
  readonly itemTitle: string;
  readonly cue: LibraryCue | null;
}) {
  const t = say("cues");
  const ref = <CueRef cue={cue ?? { id: "", itemKey }} exerciseKey={exercise.key} />;
  const title = cue ? t("changeTitle") : t("addTitle", { item: itemTitle });
  return (
    <Stack>
      <Heading level={3}>{title}</Heading>
      {cue && cue.shipped !== null && cue.shipped !== cue.words ? <p>{t("shippedWords", { words: cue.shipped })}</p> : null}
      <ActionForm action={saveCueAction} once={crypto.randomUUID()} label={title}>
        {ref}
        <CueEditor saved={cue?.words ?? ""} version={cue?.version ?? 0} setups={shownSetups(exercise)} words={editorWords()} />
        <Row>
          <SubmitButton pending={t("saving")}>{t("save")}</SubmitButton>
          <Link href={cuesAddress(exercise.key, itemKey)} prefetch={false}>{t("back")}</Link>
        </Row>
      </ActionForm>
      {cue ? (
        <ActionForm action={retireCueAction} once={crypto.randomUUID()} label={t("retire")} problemWords={{ "cue-changed": t("retireStale") }}>
          {ref}
          <input type="hidden" name="version" value={cue.version} />
          <p>{t("retireWhat")}</p>
          <SubmitButton kind="quiet" pending={t("saving")}>{t("retire")}</SubmitButton>
        </ActionForm>
      ) : null}
    </Stack>
  );
}
