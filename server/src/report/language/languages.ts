import { addLanguage, setUsualLocale } from "../../engine/checks/wording.js";
import { german, germanWords } from "./de.js";

addLanguage("de", german, germanWords);

/** Languages that there are besides English. */
export const languages: readonly string[] = ["de"];

/** Sets the language of all texts of this process; what is not known here is English. `locale`: "de", "de-AT", "de_DE.UTF-8". */
export function speak(locale: string | undefined): void {
  const tag = locale?.split(/[-_.@]/)[0]?.toLowerCase();
  setUsualLocale(tag !== undefined && languages.includes(tag) ? tag : undefined);
}
