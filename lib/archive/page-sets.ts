import "server-only";
import { html, type Html } from "@/lib/archive/html";
import type { Voice } from "@/lib/archive/words";
import type { ArchivedAnswer, ArchivedSet, ArchiveFile, ChildRecord } from "@/lib/domain/archive/child-record.schema";

/** One photo set with its photos and every version of its answer. */
export function setPart(set: ArchivedSet, unreadable: readonly string[], voice: Voice): Html {
  const { t, family, date, who } = voice;
  const isClosed = set.photos.length > 0 && set.photos.every(({ file }) => file === null);
  return html`<article>
<h3>${set.title}. ${family("history.sent", { date: date(set.at), who: who(set.by) })}</h3>
${set.voidReason ? html`<p class="stop">${family(`history.void-${set.voidReason}`)}</p>` : null}
${set.isOld ? html`<p class="small">${family("history.old")}</p>` : null}
${isClosed ? html`<p>${t("page.closedPictures")}</p>` : null}
${set.photos.length === 0 && set.voidReason === null ? html`<p>${t("page.noPhotos")}</p>` : null}
${set.photos.map((photo) => photo.file && pictured(photo.file, t("page.photoAlt", { view: family(`history.viewIs.${photo.view}`) }), [
    photo.takenAt ? t("page.taken", { date: date(photo.takenAt) }) : "",
    photo.sideCheck ? t(`page.sideCheck.${photo.sideCheck}`) : "",
    photo.isTurnedBack ? t("page.turned") : "", photo.isCovered ? t("page.covered") : "",
  ], unreadable, voice))}
${set.photos.map(({ clip }) => (clip?.file ? played("video", clip.file, t("page.clip", { seconds: clip.seconds }), unreadable, voice) : null))}
${set.note ? html`<p>${t("page.note")}:</p><blockquote>${set.note}</blockquote>` : null}
${set.askedBack.map((each) => html`<p>${t("page.asked", { date: date(each.at), who: who(each.by), words: each.words })}</p>
<p>${each.reply ? t("page.replied", { date: date(each.reply.at), who: who(each.reply.by), words: each.reply.words }) : each.newPhotoAt ? t("page.newPhoto", { date: date(each.newPhotoAt) }) : t("page.open")}</p>`)}
${set.answers.map((answer) => answerPart(answer, set, unreadable, voice))}
</article>`;
}

function answerPart(answer: ArchivedAnswer, set: ArchivedSet, unreadable: readonly string[], voice: Voice): Html {
  const { t, family, date, who } = voice;
  const said = { date: date(answer.at), who: who(answer.by), reason: answer.amendReason };
  return html`<section>
<h4>${t(answer.version > 1 ? "page.changed" : "page.answered", said)}</h4>
${answer.isInForce ? null : html`<p class="small">${t("page.replaced")}</p>`}
${answer.kind === "take-again" ? html`<p><strong>${family("history.again")}</strong></p>` : null}
<blockquote>${answer.summary}</blockquote>
${verdictList(answer.verdicts, voice)}
${answer.marked.map(({ photoId, file }) => file && pictured(file, markedAlt(photoId, set, voice), [], unreadable, voice))}
${answer.spans.map(({ fromSeconds, toSeconds }) => html`<p>${t("page.span", { from: fromSeconds, to: toSeconds })}</p>`)}
${answer.spokenNote?.file ? played("audio", answer.spokenNote.file, t("page.spoken", { seconds: answer.spokenNote.seconds }), unreadable, voice) : null}
<p>${family(`history.next.${answer.nextStep}`)} ${answer.nextView ? family("history.nextView", { view: family(`history.viewIs.${answer.nextView}`) }) : ""}</p>
${answer.questions.map((each) => html`<p>${t("page.asked", { date: date(each.at), who: who(each.by), words: each.words })}</p>
<p>${each.reply ? t("page.replied", { date: date(each.reply.at), who: who(each.reply.by), words: each.reply.words }) : t("page.open")}</p>`)}
</section>`;
}

/** A photo by its view; what was taken from a clip by its time and by whom. */
function markedAlt(photoId: string, set: ArchivedSet, { t, family, who }: Voice): string {
  const moment = set.photos.flatMap(({ clip }) => clip?.moments ?? []).find(({ id }) => id === photoId);
  if (moment) return t("page.moment", { at: moment.seconds, who: who(moment.by) });
  return t("page.marks", { view: family(`history.viewIs.${set.photos.find(({ id }) => id === photoId)?.view ?? "other"}`) });
}

/** What was seen in a visit or a call. */
export function seenPart(seen: ChildRecord["seenLive"][number], voice: Voice): Html {
  const { t, date, who } = voice;
  return html`<article>
<h3>${t("page.seenOne", { exercise: seen.title, how: seen.how, date: date(seen.seenAt), who: who(seen.by) })}</h3>
${seen.note ? html`<blockquote>${seen.note}</blockquote>` : null}
${verdictList(seen.verdicts, voice)}
</article>`;
}

const verdictList = (verdicts: ArchivedAnswer["verdicts"], { family }: Voice): Html | null => verdicts.length === 0 ? null
  : html`<ul>${verdicts.map(({ title, verdict, cue }) => html`<li>${title}: <strong>${family(`verdict.${verdict}`)}</strong> ${cue ?? ""}</li>`)}</ul>`;

const pictured = (file: ArchiveFile, alt: string, captions: readonly string[], unreadable: readonly string[], { t }: Voice): Html => html`<figure>
${unreadable.includes(file.path) ? html`<p class="stop">${t("page.unreadableHere")}</p>` : html`<a href="${file.path}"><img src="${file.path}" alt="${alt}" loading="lazy"></a>`}
<figcaption>${[alt, ...captions].filter((each) => each !== "").map((each) => each.replace(/\.$/, "")).join(". ")}</figcaption>
</figure>`;

const played = (kind: "audio" | "video", file: ArchiveFile, caption: string, unreadable: readonly string[], { t }: Voice): Html => html`<figure>
<figcaption>${caption}</figcaption>
${unreadable.includes(file.path) ? html`<p class="stop">${t("page.unreadableHere")}</p>`
  : kind === "audio" ? html`<audio controls preload="none" src="${file.path}"></audio><a href="${file.path}">${file.path}</a>`
  : html`<video controls preload="none" src="${file.path}"></video><a href="${file.path}">${file.path}</a>`}
</figure>`;
