/** The faces of the sheet, served from here: SIL Open Font License 1.1, latin subset only (what the page's own words need). */
import '@fontsource/fira-sans/latin-300.css';
import '@fontsource/fira-sans/latin-300-italic.css';
import '@fontsource/fira-sans/latin-400.css';
import '@fontsource/fira-sans/latin-400-italic.css';
import '@fontsource/fira-sans/latin-500.css';
import '@fontsource/fira-sans/latin-600.css';
import '@fontsource/fira-mono/latin-400.css';
import '@fontsource/fira-mono/latin-500.css';
