import "server-only";
import type { ProposalWords } from "@/lib/domain/answering/propose";
import type { Side } from "@/lib/domain/sides";
import { say } from "@/lib/messages/say";

export const keysWords = () => {
  const t = say("desk");
  return { open: t("keys.open"), title: t("keys.title"), single: t("keys.single") };
};

const KEYS = {
  judge: "1 2 3 4", cue: "0 … 9", take: "b … z", next: "n p", rest: "r", own: "w", summary: "s", voice: "m", again: "x", send: "Ctrl Enter",
} as const;

/** What every key of the desk does, for the sheet. */
export const keyLines = () => Object.entries(KEYS).map(([name, keys]) => ({ keys, does: say("desk")(`keys.does.${name}`) }));

/** The sentences a summary is proposed from, this child's name and side in them. */
export function proposalWords(child: string, lieOn: Side): ProposalWords {
  const t = say("desk");
  const side = say("common")("side", { side: lieOn });
  return {
    sideRight: t("proposal.sideRight", { child, side }), sideWrong: t("proposal.sideWrong", { child, side }), sideUnseen: t("proposal.sideUnseen", { child, side }),
    stop: t("proposal.stop", { words: "{words}" }), change: t("proposal.change", { words: "{words}" }),
    notYet: t("proposal.notYet", { items: "{items}" }), restInPlace: t("proposal.restInPlace"), unseen: t("proposal.unseen", { items: "{items}" }),
  };
}

export const sideWatchWords = () => {
  const t = say("desk");
  return { disagree: t("answering.sidesDisagree"), cannotTell: t("answering.sidesUnsure"), doubt: t("answering.doubt") };
};
