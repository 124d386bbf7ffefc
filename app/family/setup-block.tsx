import { SetupSchematic } from "@/app/ui/schematic/setup-schematic";
import { Stack } from "@/app/ui/stack";
import { setupLabel } from "@/app/family/words";
import type { CurrentSetup } from "@/lib/records/child-facts";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import { sideAndProp } from "@/lib/messages/setup-words";
import styles from "@/app/family/family.module.css";

/** Side and prop in words, the schematic, then further sentences. */
export function SetupBlock({ setup, child, more, reader }: { readonly setup: CurrentSetup; readonly child: string; readonly more: readonly string[]; readonly reader: Reader }) {
  const [side, ...prop] = sideAndProp(setup, reader);
  return (
    <Stack gap="small">
      <p className={styles.side}>{side}</p>
      {prop.map((line) => <p key={line}><strong>{line}</strong></p>)}
      <SetupSchematic {...setup.resolution.setup} label={setupLabel(setup, child, reader)} />
      {setup.kind === "individual" ? <p>{say("family", reader)("individual", { child })}</p> : null}
      {more.length > 0 ? <ul className={styles.list}>{more.map((line) => <li key={line}>{line}</li>)}</ul> : null}
    </Stack>
  );
}
