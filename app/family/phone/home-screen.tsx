import { InstallButton } from "@/app/family/phone/install-button";
import styles from "@/app/family/phone/phone.module.css";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

/** How the app comes to stand beside the phone's others; gone where it does. */
export function HomeScreen({ reader }: { readonly reader: Reader }) {
  const words = say("installed", reader);
  return (
    <section className={styles.home}>
      <Stack gap="small">
        <Heading level={2}>{words("home.title")}</Heading>
        <p>{words("home.how")}</p>
        <InstallButton>{words("home.install")}</InstallButton>
      </Stack>
    </section>
  );
}
