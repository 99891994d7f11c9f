/* warm.h - what a browser will ask for first, computed before it asks. */
#ifndef RT_WEB_WARM_H
#define RT_WEB_WARM_H

#include "web/workspace.h"

/* Makes the drawing and the quick fields of one house, while the browser that will ask for them still starts: of the only house of the
 * folder, or of the one that was changed last, if any was.  What goes wrong is told to whoever asks later.  Stops when the server does. */
void warm_up(struct workspaces *all);

#endif
