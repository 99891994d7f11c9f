import '@fontsource-variable/inter/wght.css';
import './style/tokens.css';
import './style/base.css';
import './style/parts.css';
import './style/sheet.css';
import './style/tools.css';
import './style/picture.css';
import './view/app';
