// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Everything of the core at once; what writes a result out is girthline/report.h, a library of its own.
#ifndef GIRTHLINE_GIRTHLINE_H
#define GIRTHLINE_GIRTHLINE_H

#include <girthline/analyse.h>
#include <girthline/leaning.h>
#include <girthline/limits.h>
#include <girthline/reader.h>
#include <girthline/result.h>
#include <girthline/settings.h>
#include <girthline/species.h>
#include <girthline/status.h>
#include <girthline/version.h>

#endif
