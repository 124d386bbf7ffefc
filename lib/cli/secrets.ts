export { openSecrets, SecretsDamaged, type Secrets } from "@/lib/media/secrets";
