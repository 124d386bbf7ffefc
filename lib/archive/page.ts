import "server-only";
import { html, type Html } from "@/lib/archive/html";
import { seenPart, setPart } from "@/lib/archive/page-sets";
import { STYLE } from "@/lib/archive/style";
import { voiceOf, type Voice } from "@/lib/archive/words";
import type { ChildRecord } from "@/lib/domain/archive/child-record.schema";
import { directionOf, type Reader } from "@/lib/domain/words/reader";

/**
 * `index.html`: the whole record to read, from the disk, without a script and without the net. It never says what may
 * be done today: that is known to the app alone, and a copy grows old.
 */
export function archivePage(record: ChildRecord, reader: Reader): string {
  const voice = voiceOf(record, reader);
  const { t } = voice;
  const { child, practice } = record;
  const parts = partsOf(record, voice);
  const { markup } = html`<!doctype html>
<html lang="${reader.locale}" dir="${directionOf(reader.locale)}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="script-src 'none'; object-src 'none'; connect-src 'none'; base-uri 'none'; form-action 'none'">
<meta name="referrer" content="no-referrer">
<title>${t("page.title", { child: child.givenName })}</title>
<style>${{ markup: STYLE }}</style>
</head>
<body>
<h1>${t("page.title", { child: child.givenName })}</h1>
<p>${t("page.made", { date: voice.date(record.madeAt), who: record.madeFor, practice: practice.name })}</p>
<div class="caution">
${hasOpenStop(record) ? html`<p class="stop">${t("page.openStop")}</p>` : null}
<p><strong>${t("page.notToday")}</strong></p>
<p>${t("page.caution")}</p>
</div>
<p>${t("page.sides")}</p>
${record.unreadable.length > 0 ? html`<p class="stop">${t("page.unreadable", { n: record.unreadable.length, paths: record.unreadable.join(", ") })}</p>` : null}
<p>${t("page.born", { month: child.bornIn })}. ${child.writesWith ? t("page.writesWith", { side: child.writesWith }) : ""}</p>
<nav><h2>${t("page.contents")}</h2><ul>
${parts.map(([key, title]) => html`<li><a href="#${key}">${title}</a></li>`)}
</ul></nav>
<main>
${parts.map(([key, title, rows]) => html`<section id="${key}"><h2>${title}</h2>
${rows.length > 0 ? rows : html`<p>${t("page.none")}</p>`}
</section>`)}
</main>
</body>
</html>
`;
  return markup;
}

const hasOpenStop = ({ symptoms, stops }: ChildRecord): boolean => symptoms.some(({ clearance }) => clearance === null) || stops.some(({ lifted }) => lifted === null);

type Part = readonly [key: string, title: string, rows: readonly Html[]];

function partsOf(record: ChildRecord, voice: Voice): readonly Part[] {
  const { t, date, day, who } = voice;
  const child = record.child.givenName;
  const p = (words: string): Html => html`<p>${words}</p>`;
  const list = (lines: readonly string[]): Html => html`<ul>${lines.map((line) => html`<li>${line}</li>`)}</ul>`;
  return [
    ["curves", t("page.curves"), record.curveRecords.map((each, at) => html`<article>
<h3>${t(at === 0 ? "page.current" : "page.earlierOne")}</h3>
${list(each.lines)}
<p>${t("page.curveFacts", { date: day(each.assessedOn), source: each.source, who: who(each.by), written: date(each.at) })} ${each.reassessBy ? t("page.reassess", { date: day(each.reassessBy) }) : ""}</p>
${each.note ? html`<blockquote>${each.note}</blockquote>` : null}
</article>`)],
    ["setups", t("page.setups"), record.setups.map((each) => html`<article>
<h3>${t("page.setup", { exercise: each.title, version: each.exerciseVersion, date: date(each.at), who: who(each.by) })}</h3>
<p>${t(each.isCurrent ? "page.current" : "page.earlierOne")}</p>
${each.kind === "individual" ? p(t("page.individual", { reason: each.reason })) : null}
${list(each.lines)}
</article>`)],
    ["stops", t("page.stops"), record.stops.map((each) => html`<article>
<p>${t("page.stop", { date: date(each.at), who: who(each.by), reason: each.reason })}</p>
${each.lifted ? p(t("page.lifted", { date: date(each.lifted.at), who: who(each.lifted.by), reason: each.lifted.reason })) : html`<p class="stop">${t("page.notLifted")}</p>`}
</article>`)],
    ["symptoms", t("page.symptoms"), record.symptoms.map((each) => html`<article>
<p>${t("page.symptom", { date: date(each.at), who: who(each.by), tier: each.tier })}</p>
${list(each.noticed.map((key) => voice.family(`symptom.is.${key}`)))}
${each.note ? html`<blockquote>${each.note}</blockquote>` : null}
${each.clearance ? p(t("page.cleared", { date: date(each.clearance.at), who: who(each.clearance.by), spokeTo: each.clearance.spokeTo, outcome: each.clearance.outcome })) : html`<p class="stop">${t("page.notCleared")}</p>`}
</article>`)],
    ["sets", t("page.sets"), record.photoSets.map((each) => setPart(each, record.unreadable, voice))],
    ["seen", t("page.seen"), record.seenLive.map((each) => seenPart(each, voice))],
    ["read-backs", t("page.readBacks"), lines(record.readBacks.map((each) => t("page.readBack", { date: date(each.at), who: who(each.by), right: each.isRight ? "yes" : "no" })))],
    ["phases", t("page.phases"), lines(record.phases.map(({ phase, openedAt, openedBy, closedAt }) => closedAt === null
      ? t("page.phase", { phase, date: date(openedAt), who: who(openedBy) })
      : t("page.phaseClosed", { phase, date: date(openedAt), who: who(openedBy), closed: date(closedAt) })))],
    ["days", t("page.days"), lines(record.practiceDays.map((each) => `${day(each.day)}, ${who(each.by)}`))],
    ["sessions", t("page.sessions"), lines(record.groupSessions.map((each) => t(`page.session.${each.decision ?? "open"}`, { date: date(each.startsAt), exercise: each.title })))],
    ["consents", t("page.consents"), lines(record.consents.map((each) => t("page.consent", { date: date(each.at), who: who(each.by), purpose: each.purpose, decision: each.decision, version: each.textVersion, hash: each.textHash.slice(0, 12) })))],
    ["carers", t("page.carers", { child }), lines([
      ...record.carers.map(({ person, relation, from, until }) => until === null
        ? t("page.carer", { name: who(person), relation, from: date(from) })
        : t("page.carerUntil", { name: who(person), relation, from: date(from), until: date(until) })),
      ...record.agreements.map((each) => t("page.agreement", { date: date(each.at), name: who(each.guardian), decision: each.decision })),
    ])],
    ["cards", t("page.cards"), lines(record.sideCards.map(({ number, madeAt }) => t("page.card", { number, date: date(madeAt) })))],
  ];
}

const lines = (each: readonly string[]): readonly Html[] => (each.length === 0 ? [] : [html`<ul>${each.map((line) => html`<li>${line}</li>`)}</ul>`]);
