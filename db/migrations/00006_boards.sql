-- Boards looked over, how deep defects go, patterns put on as one, and the
-- widths that saw and metal take.

-- +goose Up
-- A board that was looked over and found clear is known, as one with defects is.
ALTER TABLE board ADD COLUMN looked_over boolean NOT NULL DEFAULT false;

-- Depth from its face, 0 where it was not measured; pattern is the same in all
-- defects that one quick pattern put on, so that one undo takes them all back.
ALTER TABLE defect ADD COLUMN depth_nm bigint NOT NULL DEFAULT 0;
ALTER TABLE defect ADD COLUMN pattern text NOT NULL DEFAULT '';
ALTER TABLE defect ADD CONSTRAINT defect_depth_not_negative CHECK (depth_nm >= 0);
ALTER TABLE defect ADD CONSTRAINT defect_pattern_bounded CHECK (length(pattern) <= 60);
CREATE INDEX defect_by_pattern ON defect (pattern) WHERE pattern <> '';

-- Widths that the house keeps: round metal, and for each saw.
CREATE TABLE allowance (
  id           uuid        PRIMARY KEY,
  name         text        NOT NULL,
  size_nm      bigint      NOT NULL,
  note         text        NOT NULL DEFAULT '',
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT allowance_name_known CHECK (name IN ('metal_clearance', 'rip_kerf', 'crosscut_kerf')),
  CONSTRAINT allowance_at_most_2_in CHECK (size_nm BETWEEN 0 AND 50800000),
  CONSTRAINT allowance_note_bounded CHECK (length(note) <= 10000)
);

CREATE UNIQUE INDEX allowance_once ON allowance (name) WHERE struck_at IS NULL;
CREATE INDEX allowance_newest ON allowance (received_at DESC, id DESC);

ALTER TABLE history DROP CONSTRAINT history_entity_known;
ALTER TABLE history ADD CONSTRAINT history_entity_known CHECK (entity IN
  ('keeper', 'source', 'pickup', 'lot', 'finding', 'board', 'defect', 'reading', 'photo', 'setting', 'policy', 'stack', 'climate', 'move', 'allowance'));

GRANT SELECT, INSERT, UPDATE ON allowance TO skepwood_app;

-- +goose Down
DELETE FROM history WHERE entity = 'allowance';
ALTER TABLE history DROP CONSTRAINT history_entity_known;
ALTER TABLE history ADD CONSTRAINT history_entity_known CHECK (entity IN
  ('keeper', 'source', 'pickup', 'lot', 'finding', 'board', 'defect', 'reading', 'photo', 'setting', 'policy', 'stack', 'climate', 'move'));
DROP TABLE allowance;
DROP INDEX defect_by_pattern;
ALTER TABLE defect DROP COLUMN pattern, DROP COLUMN depth_nm;
ALTER TABLE board DROP COLUMN looked_over;
