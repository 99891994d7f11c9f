import '@fontsource-variable/inter/wght.css';
import './style/tokens.css';
import './style/base.css';
import './style/words.css';
import './style/side.css';
import './style/side_views.css';
import './style/sheet.css';
import './style/drawing.css';
import './style/views.css';
import './style/phone.css';
import './style/three.css';
import './style/tools.css';
import './style/picture.css';
import { beginOpening } from './state/opening';

/* What the house is comes from the program, and is asked for before the views are read that show it. */
beginOpening();
void import('./view/app');
