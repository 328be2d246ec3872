// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// From a recording to a result: whole, or pushed block by block with the same result to the last bit. Objects share nothing: any
/// number of threads may each work on their own.
#ifndef GIRTHLINE_ANALYSE_H
#define GIRTHLINE_ANALYSE_H

#include <stddef.h>

#include <girthline/api.h>
#include <girthline/result.h>
#include <girthline/status.h>

GIRTHLINE_API_BEGIN

/// Analyse a file: at most a week of sound at once (GIRTHLINE_LIMIT). settings may be NULL (defaults). On GIRTHLINE_OK *out is owned by the caller.
girthline_status girthline_analyse_file(const char *path, const girthline_settings *settings, girthline_result **out, girthline_error *error);

/// The same for a whole audio file held in memory; name is used in messages. data must outlive the call.
girthline_status girthline_analyse_memory(const void *data, size_t n_bytes, const char *name, const girthline_settings *settings,
                                          girthline_result **out, girthline_error *error);
/// An analysis of sound that comes block by block: new, push as often as there is sound, finish, free. Its memory is a constant
/// and some 200 bytes a beat, however long the recording.
typedef struct girthline_analysis girthline_analysis;

/// recording: what girthline_reader_recording says, or for a stream its sample_rate_hz (1000 to 192000) and otherwise zeros:
/// a duration of 0 is one not known yet, and the columns of the overview picture are then up to twice as long. settings may be NULL
/// (defaults); both are copied, sounds given by hand too. Errors: BAD_ARGUMENT, NO_MEMORY.
girthline_status girthline_analysis_new(const girthline_recording *recording, const girthline_settings *settings, girthline_analysis **out,
                                        girthline_error *error);

/// The next n samples of one channel at the recording's rate, full scale 1; n may be 0 and the sizes of blocks do not matter. One that
/// is not finite counts as 0. What lies outside settings->from_s to to_s is passed over. After an error the analysis takes no more.
girthline_status girthline_analysis_push(girthline_analysis *analysis, const float *samples, size_t n, girthline_error *error);

/// The end of the sound. On GIRTHLINE_OK *out is owned by the caller, and the analysis is only good to be freed. BAD_ARGUMENT where no
/// sample came that was to be analysed.
girthline_status girthline_analysis_finish(girthline_analysis *analysis, girthline_result **out, girthline_error *error);

void girthline_analysis_free(girthline_analysis *analysis); ///< accepts NULL

GIRTHLINE_API_END
#endif
