import '@fontsource-variable/inter/wght.css';
import './style/tokens.css';
import './style/base.css';
import './style/parts.css';
import './style/sheet.css';
import './style/tools.css';
import './style/picture.css';
import { beginOpening } from './state/opening';

/* What the house is comes from the program, and is asked for before the views are read that show it. */
beginOpening();
void import('./view/app');
