#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Hold examinations against docs/exam.schema.json, each recording's report against docs/report.schema.json, and each null
against its reason.

usage: validate_exam.py DOCS EXAM.json...
Ends 77 (skipped) with a word where the jsonschema module is missing.
"""
import copy
import json
import os
import sys

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import validate_json  # noqa: E402  (ends the program where jsonschema is missing)


def load(path):
    with open(path, encoding='utf-8') as f:
        return json.load(f)


def main(docs, *paths):
    exam_schema, report_schema = load(f'{docs}/exam.schema.json'), load(f'{docs}/report.schema.json')
    # One document, so that no version of the module needs a resolver.
    exam_schema['$defs'] = {'report': report_schema['$defs']['report']}
    exam_schema['properties']['recordings']['items']['properties']['report']['anyOf'][0] = {'$ref': '#/$defs/report'}
    draft = validate_json.jsonschema.Draft202012Validator
    draft.check_schema(exam_schema)
    whole, single = draft(exam_schema), draft(report_schema)
    bad = 0
    for path in paths:
        with open(path, 'rb') as f:
            text = f.read().decode('utf-8')
        exam = json.loads(text, parse_constant=validate_json.refuse, object_pairs_hook=validate_json.no_duplicates)
        found = [] if text.endswith('\n') else ['the last line has no end']
        found += [f'/{"/".join(map(str, e.absolute_path))}: {e.message[:300]}' for e in whole.iter_errors(exam)]
        bare = copy.deepcopy(exam)
        for recording in bare['recordings']:
            if recording['report']:
                found += list(validate_json.faults(recording['report'], single))
                recording['report'] = {}
        for pointer in validate_json.nulls(bare):
            if not bare['undetermined'].get(pointer):
                found.append(pointer + ': null without a reason')
        for pointer in bare['undetermined']:
            try:
                value = validate_json.reached(bare, pointer)
            except (KeyError, IndexError, ValueError):
                found.append(pointer + ': a reason for something that is not there')
                continue
            if value is not None and value != 'undetermined':
                found.append(pointer + ': a reason for something that is determined')
        for finding in exam['findings']:
            for pointer in finding['evidence_keys']:
                try:
                    validate_json.reached(exam, pointer)
                except (KeyError, IndexError, ValueError, TypeError):
                    found.append(pointer + ': evidence that is not there')
        for fault in found:
            print(f'{path}: {fault}')
        bad += bool(found)
    print(f'{len(paths) - bad} of {len(paths)} examinations hold')
    return bool(bad)


if __name__ == '__main__':
    if len(sys.argv) < 3:
        sys.exit(__doc__)
    sys.exit(main(*sys.argv[1:]))
