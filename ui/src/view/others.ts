/* What the first look at a house does not show, in one piece (fetched.ts). */
import './ask';
import './change';
import './compare';
import './design';
import './failures';
import './history';
import './install';
import './network';
import './part_list';
import './readings';
import './text';
import './week';

export { MAKERS } from './tools';
