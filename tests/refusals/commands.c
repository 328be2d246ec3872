// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The command lines and their inputs.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "refusals.h"

const refusals_command REFUSALS_COMMANDS[] = {
    {.name = "report",
     .argv = {"report", "heart.wav", "--json", "out/a.json", "--html", "out/a.html", "--text", "out/a.txt", "--marked", "out/m.wav", "--clip", "out/c.wav"}},
    {.name = "report-document", .argv = {"report", "heart.wav", "--pdf", "out/a.pdf"}},
    {.name = "report-figures", .argv = {"report", "heart.wav", "--figures", "out", "--quiet"}}, // apart: what one refuses, the other would still draw
    {.name = "report-beats", .argv = {"report", "heart.wav", "--beats", "beats.csv", "--json", "out/b.json"}},
    {.name = "report-several", .argv = {"report", "heart.wav", "other.wav", "--out", "out"}},
    {.name = "exam", .argv = {"exam", "exam.ini", "--json", "out/e.json", "--html", "out/e.html", "--text", "out/e.txt"}},
    {.name = "exam-document", .argv = {"exam", "exam.ini", "--pdf", "out/e.pdf"}},
    {.name = "visits-begin", .argv = {"visits", "--db", "out/v.db", "add", "first.json"}, .history = true},
    {.name = "visits-add", .argv = {"visits", "--db", "out/v.db", "add", "second.json"}, .before = "one", .history = true},
    {.name = "visits-replace", .argv = {"visits", "--db", "out/v.db", "add", "--replace", "changed.json"}, .before = "one", .history = true},
    {.name = "visits-remove", .argv = {"visits", "--db", "out/v.db", "remove", "1", "--yes"}, .before = "two", .history = true},
    {.name = "visits-export", .argv = {"visits", "--db", "out/v.db", "export", "out/all.json"}, .before = "two", .history = true},
    {.name = "visits-list", .argv = {"visits", "--db", "out/v.db", "list"}, .before = "two", .history = true},
    {.name = "visits-show", .argv = {"visits", "--db", "out/v.db", "show", "1", "--json", "out/one.json", "--text", "out/one.txt"}, .before = "two", .history = true},
    {.name = "visits-compare",
     .argv = {"visits", "--db", "out/v.db", "compare", "GL-7", "--json", "out/c.json", "--html", "out/c.html", "--text", "out/c.txt"},
     .before = "two",
     .history = true},
    {.name = "batch", .argv = {"batch", "set", "--out", "out", "--reports", "--quiet"}, .resumes = true},
    {.name = "batch-list", .argv = {"batch", "list.csv", "--out", "out", "--quiet", "--shard", "1/2"}, .resumes = true},
    {.name = "batch-merge", .argv = {"batch", "--merge", "out"}, .before = "shards", .resumes = true},
    {.name = "score", .argv = {"score", "whole/reports.ndjson", "--reference", "truth", "--resamples", "100", "--json", "out/s.json"}},
    {.name = "synth",
     .argv = {"synth", "out/s.wav", "--truth", "out/s.csv", "--facts", "out/s.json", "--seconds", "3", "--rate-hz", "2000", "--seed", "4", "--murmur",
              "systole holo plateau", "--noise", "breath,gut"}},
};
const size_t REFUSALS_N_COMMANDS = sizeof REFUSALS_COMMANDS / sizeof *REFUSALS_COMMANDS;

// ---- inputs

static void put(const char *path, const char *text) {
  FILE *f = fopen(path, "w");
  if (!f || fputs(text, f) < 0 || fclose(f)) abort();
}

static void must(const char *const *argv) {
  refusals_run run = refusals_do(argv);
  if (run.code) {
    fprintf(stderr, "%s %s ends with %d: %s\n", argv[0], argv[1], run.code, run.err);
    abort();
  }
  refusals_run_clear(&run);
}
#define MUST(...) must((const char *const[]){__VA_ARGS__, NULL})

static const char EXAM[] = "[animal]\nname = Marlow\nidentifier = GL-7\nspecies = horse\nborn = 2015-04-01\n[examination]\ndate = %s\nreason = yearly\n"
                           "[signs]\npulse_per_min = 36\nnotes = quiet %s\n[recording a]\nfile = heart.wav\nside = left\narea = mitral\n";

static void make_exam(const char *date, const char *notes, const char *json) {
  char text[sizeof EXAM + 100];
  snprintf(text, sizeof text, EXAM, date, notes);
  put("exam.ini", text);
  MUST("exam", "exam.ini", "--json", json);
}

// Long enough for a rate, a rhythm and a murmur; the others only for beats, since each is analysed thousands of times.
static void make_heart(void) {
  MUST("synth", "heart.wav", "--seconds", "8", "--rate-hz", "2000", "--snr-db", "30", "--noise", "none", "--bpm", "75", "--murmur", "systole holo plateau", "--seed",
       "1", "--quiet");
}

static void make_recording(const char *name, const char *truth, const char *seed) {
  MUST("synth", name, "--truth", truth, "--seconds", "3", "--rate-hz", "2000", "--snr-db", "30", "--noise", "none", "--bpm", "100", "--seed", seed, "--quiet");
}

void refusals_make_inputs(void) {
  const char *const folders[] = {"set", "truth", "one", "two", "shards", "whole", "out"};
  for (size_t i = 0; i < sizeof folders / sizeof *folders; i++)
    if (mkdir(folders[i], 0777)) abort();
  make_heart();
  make_recording("other.wav", "other.truth.csv", "2");
  make_recording("set/a.wav", "truth/a.truth.csv", "3");
  make_recording("set/b.wav", "truth/b.truth.csv", "4");
  put("set/c.wav", "no sound");
  put("list.csv", "file,species,animal,side,area\nset/a.wav,horse,Marlow,left,mitral\nset/b.wav,,\"Quill, the old one\",,\nset/c.wav,,,,\n");
  put("beats.csv", "time_s,sound\n0.5,S1\n0.9,S2\n1.5,S1\n1.9,S2\n2.5,S1\n2.9,S2\n");
  make_exam("2025-03-01", "", "first.json");
  make_exam("2025-03-01", "and calm", "changed.json");
  make_exam("2026-03-01", "", "second.json");
  MUST("visits", "--db", "one/v.db", "add", "first.json");
  MUST("visits", "--db", "two/v.db", "add", "first.json");
  MUST("visits", "--db", "two/v.db", "add", "second.json");
  MUST("batch", "set", "--out", "shards", "--shard", "1/2", "--quiet");
  MUST("batch", "set", "--out", "shards", "--shard", "2/2", "--quiet");
  MUST("batch", "set", "--out", "whole", "--quiet");
}
