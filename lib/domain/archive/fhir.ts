import type { ArchivedAnswer, ArchivedSet, ArchiveFile, ChildRecord } from "@/lib/domain/archive/child-record.schema";
import { REGIONS } from "@/lib/domain/curve/region";

type Resource = { readonly resourceType: string; readonly id: string; readonly [element: string]: unknown };
export type Bundle = { readonly resourceType: "Bundle"; readonly type: "collection"; readonly timestamp: string; readonly entry: readonly { readonly fullUrl: string; readonly resource: Resource }[] };
type Reference = { readonly reference: string; readonly display?: string };
/** Makes one UUID of any words: resources are named by it, and nothing but the same words gives it again. */
export type UuidOf = (words: string) => string;

/**
 * The clinical record as HL7 FHIR R4 (4.0.1): one collection that a practice's system can read. Nothing in it is coded
 * that the record does not hold in so many words: a curve is text from a curve record, with neither a clinical nor a
 * verification status, since nobody stated one here.
 */
export function fhirBundle(record: ChildRecord, uuidOf: UuidOf): Bundle {
  const urn = (kind: string, id: string): string => `urn:uuid:${uuidOf(`${kind} ${id}`)}`;
  const patient: Reference = { reference: urn("child", record.child.id) };
  const people = new Map(record.people.map((person) => [person.id, person]));
  const person = (id: string): Reference | null => {
    const known = people.get(id);
    return known ? { reference: known.role === "self" ? patient.reference : urn("person", id), display: known.name } : null;
  };
  const made: (Resource & { readonly urn: string })[] = [];
  const add = (kind: string, id: string, resourceType: string, elements: Readonly<Record<string, unknown>>): string => {
    const own = urn(kind, id);
    const said = Object.entries(elements).filter(([, value]) => value !== null && value !== undefined && !(Array.isArray(value) && value.length === 0));
    made.push({ urn: own, resourceType, id: own.slice("urn:uuid:".length), ...Object.fromEntries(said) });
    return own;
  };
  const how: How = { add, patient, person };

  add("child", record.child.id, "Patient", { name: [{ given: [record.child.givenName] }], birthDate: record.child.bornIn });
  for (const { id, name, role } of record.people) {
    if (role === "staff") add("person", id, "Practitioner", { name: [{ text: name }] });
    if (role === "guardian") add("person", id, "RelatedPerson", { patient, name: [{ text: name }], relationship: [{ text: "guardian" }] });
  }
  for (const each of record.curveRecords) {
    for (const [at, region] of REGIONS.entries()) {
      if (each.regions[region].state !== "curve") continue;
      add("curve", `${each.id} ${region}`, "Condition", {
        subject: patient, code: { text: each.lines[at] ?? region }, bodySite: [{ text: region }], recordedDate: each.at, recorder: person(each.by),
        note: [{ text: `Assessed on ${each.assessedOn}; source: ${each.source}.${each.note ? ` ${each.note}` : ""}` }],
      });
    }
  }
  for (const set of record.photoSets) {
    for (const photo of set.photos) if (photo.file) media(how, photo.id, photo.file, { at: photo.takenAt ?? set.at, by: set.by, title: `${set.title}, ${photo.view}` });
    for (const { id, clip, takenAt, view } of set.photos) if (clip?.file) media(how, `${id} clip`, clip.file, { at: takenAt ?? set.at, by: set.by, title: `${set.title}, ${view}`, duration: clip.seconds });
    for (const { clip } of set.photos) for (const { id, seconds, at, by, file } of clip?.moments ?? []) if (file) media(how, id, file, { at, by, title: `${set.title}, at ${seconds} s of the clip` });
    if (set.note) communication(how, `note ${set.id}`, { words: set.note, by: set.by, at: set.at, kind: "note with a photo" });
    for (const back of set.askedBack) {
      const asked = communication(how, `back ${back.id}`, { words: back.words, by: back.by, at: back.at, kind: "question before an answer" });
      if (back.reply) communication(how, `back reply ${back.id}`, { ...back.reply, kind: "reply", to: asked });
    }
    for (const answer of set.answers) answered(how, set, answer);
  }
  for (const seen of record.seenLive) judged(how, seen.id, seen.verdicts, { by: seen.by, at: seen.at });
  for (const each of record.symptoms) communication(how, `symptom ${each.id}`, { words: [...each.noticed, each.note].filter((said) => said !== "").join("; "), by: each.by, at: each.at, kind: `reported symptoms, ${each.tier}` });
  for (const each of record.stops) communication(how, `stop ${each.id}`, { words: each.reason, by: each.by, at: each.at, kind: "stop" });
  const decided = new Set<string>();
  for (const each of record.consents) {
    // Newest first: an earlier decision about the same purpose is in force no longer.
    const isNewest = !decided.has(each.purpose);
    decided.add(each.purpose);
    add("consent", each.id, "Consent", {
      status: !isNewest ? "inactive" : each.decision === "given" ? "active" : "rejected",
      scope: { coding: [{ system: "http://terminology.hl7.org/CodeSystem/consentscope", code: "patient-privacy" }] },
      category: [{ coding: [{ system: "http://loinc.org", code: "59284-0" }], text: `photos, purpose: ${each.purpose}` }],
      patient, dateTime: each.at, performer: [person(each.by)].filter((known) => known !== null),
      policyRule: { text: `consent text ${each.textVersion}, SHA-256 ${each.textHash}` }, provision: { type: each.decision === "given" ? "permit" : "deny" },
    });
  }
  return { resourceType: "Bundle", type: "collection", timestamp: record.madeAt, entry: made.map(({ urn: fullUrl, ...resource }) => ({ fullUrl, resource })) };
}

type How = {
  readonly add: (kind: string, id: string, resourceType: string, elements: Readonly<Record<string, unknown>>) => string;
  readonly patient: Reference;
  readonly person: (id: string) => Reference | null;
};

/** The words, the verdicts and what was drawn and spoken; every version stands, as it does in the record. */
function answered(how: How, set: ArchivedSet, answer: ArchivedAnswer): void {
  const sent = communication(how, `answer ${answer.id}`, { words: answer.summary, by: answer.by, at: answer.at, kind: `answer, version ${answer.version}${answer.isInForce ? "" : ", replaced"}` });
  judged(how, answer.id, answer.verdicts, answer);
  for (const { photoId, file } of answer.marked) if (file) media(how, `${answer.id} ${photoId}`, file, { at: answer.at, by: answer.by, title: `${set.title}, marked${atInClip(set, photoId)}` });
  if (answer.spokenNote?.file) media(how, `${answer.id} voice`, answer.spokenNote.file, { at: answer.at, by: answer.by, title: "Spoken note", duration: answer.spokenNote.seconds });
  for (const question of answer.questions) {
    const asked = communication(how, `question ${question.id}`, { words: question.words, by: question.by, at: question.at, kind: "question", to: sent });
    if (question.reply) communication(how, `reply ${question.id}`, { ...question.reply, kind: "reply", to: asked });
  }
}

const atInClip = (set: ArchivedSet, photoId: string): string => {
  const moment = set.photos.flatMap(({ clip }) => clip?.moments ?? []).find(({ id }) => id === photoId);
  return moment ? ` at ${moment.seconds} s of the clip` : "";
};

function media({ add, patient, person }: How, id: string, { path, contentType, bytes }: ArchiveFile, said: { readonly at: string; readonly by: string; readonly title: string; readonly duration?: number }): void {
  add("media", id, "Media", {
    status: "completed", type: { text: contentType.startsWith("image/") ? "photo" : contentType.slice(0, 5) }, subject: patient, createdDateTime: said.at, operator: person(said.by), duration: said.duration,
    content: { contentType, url: path, size: bytes, title: said.title },
  });
}

function communication({ add, patient, person }: How, id: string, { words, by, at, kind, to }: { readonly words: string; readonly by: string; readonly at: string; readonly kind: string; readonly to?: string }): string {
  return add("communication", id, "Communication", {
    status: "completed", category: [{ text: kind }], subject: patient, sent: at, sender: person(by), payload: words === "" ? null : [{ contentString: words }], inResponseTo: to === undefined ? null : [{ reference: to }],
  });
}

/** One question an item; the verdict, then the cue that came with it. */
function judged({ add, patient, person }: How, id: string, verdicts: ArchivedAnswer["verdicts"], { by, at }: { readonly by: string; readonly at: string }): void {
  if (verdicts.length === 0) return;
  add("verdicts", id, "QuestionnaireResponse", {
    status: "completed", subject: patient, authored: at, author: person(by),
    item: verdicts.map(({ item, title, verdict, cue }) => ({ linkId: item, text: title, answer: [{ valueString: verdict }, ...(cue ? [{ valueString: cue }] : [])] })),
  });
}
