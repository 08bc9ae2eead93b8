-- Drying: stacks of stickered boards, in the air of a place.

-- +goose Up
CREATE TABLE stack (
  id           uuid        PRIMARY KEY,
  name         text        NOT NULL,
  place        text        NOT NULL DEFAULT '',
  cover        text        NOT NULL DEFAULT 'roof',
  stickered    date        NOT NULL,
  taken_down   date,
  target_pct   double precision,
  air_temp_c   double precision,
  air_humidity double precision,
  notes        text        NOT NULL DEFAULT '',
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT stack_name_present CHECK (length(name) BETWEEN 1 AND 200),
  CONSTRAINT stack_place_bounded CHECK (length(place) <= 200),
  CONSTRAINT stack_cover_known CHECK (cover IN ('open', 'roof', 'shed', 'heated')),
  CONSTRAINT stack_stands_before_it_is_taken_down CHECK (taken_down >= stickered),
  CONSTRAINT stack_target_possible CHECK (target_pct BETWEEN 4 AND 30),
  CONSTRAINT stack_air_temperature_possible CHECK (air_temp_c BETWEEN -30 AND 60),
  CONSTRAINT stack_air_humidity_is_a_percentage CHECK (air_humidity BETWEEN 0 AND 100),
  CONSTRAINT stack_air_known_whole CHECK ((air_temp_c IS NULL) = (air_humidity IS NULL)),
  CONSTRAINT stack_notes_bounded CHECK (length(notes) <= 10000)
);

CREATE UNIQUE INDEX stack_name_once ON stack (lower(name)) WHERE struck_at IS NULL;
CREATE INDEX stack_newest ON stack (received_at DESC, id DESC);

ALTER TABLE board ADD COLUMN stack_id uuid REFERENCES stack (id);
CREATE INDEX board_by_stack ON board (stack_id) WHERE stack_id IS NOT NULL;

ALTER TABLE history DROP CONSTRAINT history_entity_known;
ALTER TABLE history ADD CONSTRAINT history_entity_known CHECK (entity IN
  ('keeper', 'source', 'pickup', 'lot', 'finding', 'board', 'defect', 'reading', 'photo', 'setting', 'policy', 'stack'));

GRANT SELECT, INSERT, UPDATE ON stack TO skepwood_app;

-- +goose Down
DELETE FROM history WHERE entity = 'stack';
ALTER TABLE history DROP CONSTRAINT history_entity_known;
ALTER TABLE history ADD CONSTRAINT history_entity_known CHECK (entity IN
  ('keeper', 'source', 'pickup', 'lot', 'finding', 'board', 'defect', 'reading', 'photo', 'setting', 'policy'));
DROP INDEX board_by_stack;
ALTER TABLE board DROP COLUMN stack_id;
DROP TABLE stack;
