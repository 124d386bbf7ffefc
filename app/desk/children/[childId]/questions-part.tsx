import Link from "next/link";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import type { ChildGrant } from "@/lib/access/grant";
import { formatDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { childQuestions } from "@/lib/records/questions";

/** What this family asked about its answers, newest first. */
export async function QuestionsPart({ granted, zone }: { readonly granted: ChildGrant<"question.reply">; readonly zone: string }) {
  const t = say("questions");
  const all = await childQuestions(granted);
  if (all.length === 0) return <p>{t("childNone")}</p>;
  return (
    <RuledList label={t("childTitle")}>
      {all.map(({ questionId, askedAt, reply }) => (
        <RuledRow key={questionId}>
          <Link href={`/desk/children/${granted.childId}/questions/${questionId}`} prefetch={false}>
            {reply ? t("rowReplied", { date: formatDate(askedAt, zone), who: reply.repliedBy }) : t("rowOpen", { date: formatDate(askedAt, zone) })}
          </Link>
        </RuledRow>
      ))}
    </RuledList>
  );
}
