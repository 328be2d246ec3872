// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Work that goes from hand to hand through stages. A few threads, the caller's among them, do whatever there is to do, to the same end as
/// the caller's alone.
#ifndef GN_BASE_RELAY_H
#define GN_BASE_RELAY_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/status.h>

typedef struct gn_relay gn_relay;

/// One stage's part of the item that stands in a place. Items come to a stage one at a time and in order, from the stage before; so what a
/// stage keeps for itself needs no lock, and what it finds does not depend on the number of threads. The first status other than
/// GIRTHLINE_OK is kept, and no stage does anything more.
typedef girthline_status gn_relay_stage(void *user, size_t place);

enum { GN_RELAY_STAGES = 4 }; ///< most

/// Items stand in places 0 .. n_places-1, which belong to the caller, until the last stage is done with them. NULL: memory was
/// refused.
gn_relay *gn_relay_new(gn_relay_stage *const *stages, size_t n_stages, size_t n_places, void *user);

/// Before the first item: let n_threads share the work, the caller's among them, and at most one more for each stage. The caller's works while
/// it waits in the calls below. Where no other can be had, and in a test that counts requests for memory, it does all in gn_relay_give, and
/// there is but place 0.
void gn_relay_start(gn_relay *relay, size_t n_threads);

/// Work until a place is free for the next item: its number in *place. Not GIRTHLINE_OK: what a stage has said.
girthline_status gn_relay_place(gn_relay *relay, size_t *place);
girthline_status gn_relay_give(gn_relay *relay); ///< the item in that place goes to the first stage
girthline_status gn_relay_wait(gn_relay *relay); ///< work until all that was given is done

/// Where items come from, if the relay is to ask for them: gives the next one by the two calls above, which find a place free, and says in
/// *more whether another may follow; or gives none. One thread at a time is at it, whichever is free, when no stage has anything to do.
typedef girthline_status gn_relay_source(void *user, bool *more);

/// Work until a source has no more, or somebody came to grief: what is under way then, gn_relay_wait ends.
girthline_status gn_relay_draw(gn_relay *relay, gn_relay_source *source);

/// The same work on two pieces, of which neither waits for the other: side by side where a second thread is wanted and can be had, else one
/// after the other.
void gn_relay_both(void (*each)(void *piece), void *one, void *other, bool side_by_side);

size_t gn_relay_processors(void); ///< that this process may use, at least 1

/// Ends the threads; what is still under way is left where it is. Accepts NULL.
void gn_relay_free(gn_relay *relay);

#endif
