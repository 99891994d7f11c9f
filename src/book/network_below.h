/* network_below.h - what the rules do not decide, or not as firmly as they read: discovery, talk within a network, sockets in a
 * stranger's reach, what a device can change about itself. */
#ifndef RT_BOOK_NETWORK_BELOW_H
#define RT_BOOK_NETWORK_BELOW_H

#include "book/net_words.h"

void network_below_write(struct book *b);

#endif
