import Link from "next/link";
import { writesWithAction } from "@/app/family/hand/[childId]/actions";
import { handWords } from "@/app/family/words";
import { Notice } from "@/app/ui/notice";
import { WritesWithForm } from "@/app/writes-with-form";
import type { Side } from "@/lib/domain/sides";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import type { WritesWith } from "@/lib/records/writes-with";

/** Left and right known from the hand the child writes with, on the child; asked once. */
export function HandPart({ childId, child, exerciseKey, said, lieOn, reader }: {
  readonly childId: string;
  readonly child: string;
  readonly exerciseKey: string;
  readonly said: WritesWith;
  readonly lieOn: Side;
  readonly reader: Reader;
}) {
  if (!said.isAsked) {
    return (
      <WritesWithForm action={writesWithAction} childId={childId} child={child} said={said} reader={reader}>
        <input type="hidden" name="exerciseKey" value={exerciseKey} />
      </WritesWithForm>
    );
  }
  if (!said.hand) return null;
  return (
    <Notice kind="info">
      {Object.values(handWords(child, said.hand, lieOn, reader)).map((line) => <p key={line}>{line}</p>)}
      <p><Link href={`/family/hand/${childId}`} prefetch={false}>{say("care", reader)("hand.change", { child })}</Link></p>
    </Notice>
  );
}
