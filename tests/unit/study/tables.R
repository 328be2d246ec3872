# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# tables.R DIR: reads the tables of a batch as docs/formats.md says, and prints what another reader must see too:
# number, the file's name as hexadecimal bytes, status, rate and beats of each row.
dir <- commandArgs(trailingOnly = TRUE)[1]
rows <- read.csv(file.path(dir, "recordings.csv"), na.strings = "", encoding = "UTF-8")
beats <- merge(read.csv(file.path(dir, "beats.csv")), rows[, c("number", "animal", "species")], by = "number")
stopifnot(is.integer(rows$number), is.numeric(rows$duration_s), !anyNA(rows$file), !anyDuplicated(rows$number))
stopifnot(is.numeric(beats$s1_onset_s), all(beats$number %in% rows$number))
for (i in seq_len(nrow(rows))) {
  field <- charToRaw(rows$file[i])
  text <- rawToChar(field)
  bytes <- if (startsWith(text, "'%")) charToRaw(URLdecode(substring(text, 3))) else if (field[1] == charToRaw("'")) field[-1] else field
  rate <- if (is.na(rows$rate_bpm[i])) "" else format(rows$rate_bpm[i], digits = 15)
  cat(rows$number[i], paste(format(bytes), collapse = ""), rows$status[i], rate, sum(beats$number == rows$number[i]), sep = ",", fill = FALSE)
  cat("\n")
}
