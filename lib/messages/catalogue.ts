import "server-only";
import address from "@/lib/messages/en/address.json";
import alarms from "@/lib/messages/en/alarms.json";
import archive from "@/lib/messages/en/archive.json";
import auth from "@/lib/messages/en/auth.json";
import backups from "@/lib/messages/en/backups.json";
import cards from "@/lib/messages/en/cards.json";
import care from "@/lib/messages/en/care.json";
import caseload from "@/lib/messages/en/caseload.json";
import clip from "@/lib/messages/en/clip.json";
import common from "@/lib/messages/en/common.json";
import cues from "@/lib/messages/en/cues.json";
import days from "@/lib/messages/en/days.json";
import desk from "@/lib/messages/en/desk.json";
import devices from "@/lib/messages/en/devices.json";
import drafts from "@/lib/messages/en/drafts.json";
import ending from "@/lib/messages/en/ending.json";
import erasing from "@/lib/messages/en/erasing.json";
import erasures from "@/lib/messages/en/erasures.json";
import exercise from "@/lib/messages/en/exercise.json";
import exercises from "@/lib/messages/en/exercises.json";
import family from "@/lib/messages/en/family.json";
import installed from "@/lib/messages/en/installed.json";
import joining from "@/lib/messages/en/joining.json";
import kept from "@/lib/messages/en/kept.json";
import marks from "@/lib/messages/en/marks.json";
import notices from "@/lib/messages/en/notices.json";
import ownSignIn from "@/lib/messages/en/ownSignIn.json";
import pairs from "@/lib/messages/en/pairs.json";
import problems from "@/lib/messages/en/problems.json";
import progress from "@/lib/messages/en/progress.json";
import questions from "@/lib/messages/en/questions.json";
import self from "@/lib/messages/en/self.json";
import sending from "@/lib/messages/en/sending.json";
import sessions from "@/lib/messages/en/sessions.json";
import stops from "@/lib/messages/en/stops.json";
import teaching from "@/lib/messages/en/teaching.json";
import times from "@/lib/messages/en/times.json";
import voice from "@/lib/messages/en/voice.json";
import esAddress from "@/lib/messages/es/address.json";
import esArchive from "@/lib/messages/es/archive.json";
import esAuth from "@/lib/messages/es/auth.json";
import esCards from "@/lib/messages/es/cards.json";
import esCare from "@/lib/messages/es/care.json";
import esClip from "@/lib/messages/es/clip.json";
import esCommon from "@/lib/messages/es/common.json";
import esDays from "@/lib/messages/es/days.json";
import esDevices from "@/lib/messages/es/devices.json";
import esEnding from "@/lib/messages/es/ending.json";
import esErasing from "@/lib/messages/es/erasing.json";
import esExercise from "@/lib/messages/es/exercise.json";
import esFamily from "@/lib/messages/es/family.json";
import esInstalled from "@/lib/messages/es/installed.json";
import esJoining from "@/lib/messages/es/joining.json";
import esKept from "@/lib/messages/es/kept.json";
import esNotices from "@/lib/messages/es/notices.json";
import esPairs from "@/lib/messages/es/pairs.json";
import esProblems from "@/lib/messages/es/problems.json";
import esQuestions from "@/lib/messages/es/questions.json";
import esSelf from "@/lib/messages/es/self.json";
import esSending from "@/lib/messages/es/sending.json";
import esVoice from "@/lib/messages/es/voice.json";
import type { Locale } from "@/lib/domain/words/reader";

/** Sentences by area and dotted key. */
export type Sentences = { readonly [key: string]: string | Sentences };

const EN = { address, alarms, archive, auth, backups, cards, care, caseload, clip, common, cues, days, desk, devices, drafts, ending, erasing, erasures, exercise, exercises, family, installed, joining, kept, marks, notices, ownSignIn, pairs, problems, progress, questions, sending, sessions, stops, teaching, times, voice };
export type Area = keyof typeof EN;

/** `areas` are the carer's words, `self` what is said otherwise to who does the exercises. Only English holds what the desk alone says. */
export const CATALOGUES: Readonly<Record<Locale, { readonly areas: Sentences; readonly self: Sentences }>> = {
  en: { areas: EN, self },
  es: {
    areas: {
      address: esAddress, archive: esArchive, auth: esAuth, cards: esCards, care: esCare, clip: esClip, common: esCommon, days: esDays, devices: esDevices, ending: esEnding, erasing: esErasing, exercise: esExercise, family: esFamily, installed: esInstalled, joining: esJoining, kept: esKept, notices: esNotices,
      pairs: esPairs, problems: esProblems, questions: esQuestions, sending: esSending, voice: esVoice,
    },
    self: esSelf,
  },
};
