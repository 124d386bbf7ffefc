import { askForExportAction } from "@/app/exports/actions";
import { LookAgain } from "@/app/exports/look-again";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink, DownloadLink } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Progress } from "@/app/ui/progress";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { isStaff, type Actor } from "@/lib/access/actor";
import type { ChildGrant } from "@/lib/access/grant";
import { isProofEnough } from "@/lib/domain/policy/policy";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { exportOf, type ExportView } from "@/lib/records/exports";

/** Everything of one child as one file: what is in it and what is not, how far it is, and how it is taken. */
export async function ExportPart({ granted, child, here }: { readonly granted: ChildGrant<"export.read">; readonly child: string; /** This page. */ readonly here: string }) {
  const { actor, childId } = granted;
  const now = Date.now();
  const asked = await exportOf(granted, now);
  const isFresh = isProofEnough(actor.provedAt, "export.ask", now);
  const t = say("archive", actor.reader);
  const isOfStaff = isStaff(actor.role);
  const isUnderWay = asked?.state === "waiting" || asked?.state === "making";
  return (
    <Stack gap="large">
      <Stack>
        <p>{t("lead", { child })}</p>
        <p>{t("how")}</p>
        <p>{t(isOfStaff ? "staffNotIn" : "notIn")}</p>
        <Notice kind="caution"><p>{t("care")}</p></Notice>
        <p>{t("day")}</p>
      </Stack>
      {isFresh || isUnderWay ? null : (
        <Notice kind="info">
          <p>{t("proofFirst")}</p>
          <ButtonLink href={isOfStaff ? "/desk/account/proof" : "/family/account/proof"} kind="quiet">{t("toProof")}</ButtonLink>
        </Notice>
      )}
      {asked ? <State asked={asked} childId={childId} isFresh={isFresh} here={here} actor={actor} /> : null}
      {isUnderWay ? null : <Ask childId={childId} actor={actor} madeAt={asked?.state === "ready" ? asked.madeAt : null} />}
    </Stack>
  );
}

function State({ asked, childId, isFresh, here, actor }: { readonly asked: ExportView; readonly childId: string; readonly isFresh: boolean; readonly here: string; readonly actor: Actor }) {
  const t = say("archive", actor.reader);
  const when = (at: number | null): string => formatDateTime(at ?? asked.askedAt, actor.timeZone, actor.reader.locale);
  if (asked.state === "failed") return <Notice kind="problem">{t(isStaff(actor.role) ? "failedStaff" : "failed")}</Notice>;
  if (asked.state === "gone") return <Notice kind="info">{t("gone", { asked: when(asked.askedAt) })}</Notice>;
  if (asked.state === "ready") {
    return (
      <Notice kind="done">
        <p>{t("ready", { size: sizeSaid(asked.byteLength ?? 0), until: when(asked.until) })}</p>
        {isFresh ? <p><DownloadLink href={`/api/exports/${childId}/${asked.exportId}`}>{t("take")}</DownloadLink></p> : null}
      </Notice>
    );
  }
  return (
    <Stack>
      <p><output>{t(asked.state === "making" ? "waiting" : "waitingTurn")}</output></p>
      <Progress label={t("progress", { done: asked.filesDone, all: asked.filesToDo ?? "…" })} value={asked.filesToDo === null ? 0 : asked.filesDone / asked.filesToDo} />
      <ButtonLink href={here} kind="quiet">{t("look")}</ButtonLink>
      <LookAgain />
    </Stack>
  );
}

function Ask({ childId, actor, madeAt }: { readonly childId: string; readonly actor: Actor; /** Of the one that is ready. */ readonly madeAt: number | null }) {
  const t = say("archive", actor.reader);
  const isAgain = madeAt !== null;
  return (
    <ActionForm action={askForExportAction} once={crypto.randomUUID()} childId={childId} label={t(isAgain ? "anew" : "ask")}>
      {isAgain ? <p>{t("anewWhy", { made: formatDateTime(madeAt, actor.timeZone, actor.reader.locale) })}</p> : null}
      <SubmitButton pending={t("asking")} {...(isAgain ? { kind: "quiet" as const } : {})}>{t(isAgain ? "anew" : "ask")}</SubmitButton>
    </ActionForm>
  );
}

/** Units of the metric system: what a phone and a computer show beside a file. */
const sizeSaid = (bytes: number): string => (bytes < 1_000_000 ? `${Math.max(1, Math.round(bytes / 1000))} kB` : `${(bytes / 1_000_000).toFixed(1)} MB`);
