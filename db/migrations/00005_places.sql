-- Drying, continued: the air of places month by month, stacks that are moved,
-- boards that are taken out, what woodenware a stack is for, masses of pieces
-- that are weighed, and woods that are only guessed.

-- +goose Up
CREATE TABLE climate (
  id           uuid        PRIMARY KEY,
  place        text        NOT NULL,
  month        integer     NOT NULL,
  first_day    date,
  last_day     date,
  days         integer     NOT NULL DEFAULT 0,
  temp_c       double precision NOT NULL,
  humidity     double precision NOT NULL,
  emc_pct      double precision,
  source       text        NOT NULL DEFAULT '',
  notes        text        NOT NULL DEFAULT '',
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT climate_place_present CHECK (length(place) BETWEEN 1 AND 200),
  CONSTRAINT climate_month_of_the_year CHECK (month BETWEEN 1 AND 12),
  CONSTRAINT climate_temperature_possible CHECK (temp_c BETWEEN -50 AND 60),
  CONSTRAINT climate_humidity_is_a_percentage CHECK (humidity BETWEEN 0 AND 100),
  CONSTRAINT climate_moisture_possible CHECK (emc_pct BETWEEN 0 AND 30),
  CONSTRAINT climate_records_bounded_whole CHECK ((first_day IS NULL) = (last_day IS NULL) AND (first_day IS NULL) = (days = 0)),
  CONSTRAINT climate_records_within_one_month CHECK (days BETWEEN 0 AND last_day - first_day + 1
    AND date_trunc('month', first_day) = date_trunc('month', last_day) AND extract(month FROM first_day) = month),
  CONSTRAINT climate_text_bounded CHECK (length(source) <= 300 AND length(notes) <= 10000)
);

-- A month has one usual mean, and each first day of records once.
CREATE UNIQUE INDEX climate_month_once ON climate (lower(place), month, (coalesce(first_day, DATE '0001-01-01'))) WHERE struck_at IS NULL;
CREATE INDEX climate_newest ON climate (received_at DESC, id DESC);

CREATE TABLE move (
  id           uuid        PRIMARY KEY,
  stack_id     uuid        NOT NULL REFERENCES stack (id),
  day          date        NOT NULL,
  place        text        NOT NULL,
  cover        text        NOT NULL DEFAULT 'roof',
  note         text        NOT NULL DEFAULT '',
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT move_place_present CHECK (length(place) BETWEEN 1 AND 200),
  CONSTRAINT move_cover_known CHECK (cover IN ('open', 'roof', 'shed', 'heated')),
  CONSTRAINT move_note_bounded CHECK (length(note) <= 10000)
);

CREATE UNIQUE INDEX move_once_a_day ON move (stack_id, day) WHERE struck_at IS NULL;
CREATE INDEX move_newest ON move (received_at DESC, id DESC);

ALTER TABLE stack ADD COLUMN zone text NOT NULL DEFAULT 'outside';
ALTER TABLE stack ADD COLUMN season text NOT NULL DEFAULT 'any';
ALTER TABLE stack ADD COLUMN region text NOT NULL DEFAULT 'usual';
ALTER TABLE stack ADD CONSTRAINT stack_zone_known CHECK (zone IN ('inside', 'outside'));
ALTER TABLE stack ADD CONSTRAINT stack_season_known CHECK (season IN ('any', 'summer', 'winter'));
ALTER TABLE stack ADD CONSTRAINT stack_region_known CHECK (region IN ('usual', 'dry'));

ALTER TABLE board ADD COLUMN layer integer;
ALTER TABLE board ADD COLUMN left_stack date;
ALTER TABLE board ADD COLUMN species_guess text NOT NULL DEFAULT '';
ALTER TABLE board ADD CONSTRAINT board_layer_positive CHECK (layer BETWEEN 1 AND 1000);
ALTER TABLE board ADD CONSTRAINT board_leaves_a_stack CHECK (left_stack IS NULL OR stack_id IS NOT NULL);
ALTER TABLE board ADD CONSTRAINT board_guess_bounded CHECK (length(species_guess) <= 2000);

ALTER TABLE reading ADD COLUMN wet_g double precision;
ALTER TABLE reading ADD COLUMN dry_g double precision;
ALTER TABLE reading ADD CONSTRAINT reading_masses_both_or_neither CHECK ((wet_g IS NULL) = (dry_g IS NULL));
ALTER TABLE reading ADD CONSTRAINT reading_masses_in_order CHECK (dry_g > 0 AND wet_g >= dry_g);

ALTER TABLE history DROP CONSTRAINT history_entity_known;
ALTER TABLE history ADD CONSTRAINT history_entity_known CHECK (entity IN
  ('keeper', 'source', 'pickup', 'lot', 'finding', 'board', 'defect', 'reading', 'photo', 'setting', 'policy', 'stack', 'climate', 'move'));

GRANT SELECT, INSERT, UPDATE ON climate, move TO skepwood_app;

-- +goose Down
DELETE FROM history WHERE entity IN ('climate', 'move');
ALTER TABLE history DROP CONSTRAINT history_entity_known;
ALTER TABLE history ADD CONSTRAINT history_entity_known CHECK (entity IN
  ('keeper', 'source', 'pickup', 'lot', 'finding', 'board', 'defect', 'reading', 'photo', 'setting', 'policy', 'stack'));
ALTER TABLE reading DROP COLUMN dry_g;
ALTER TABLE reading DROP COLUMN wet_g;
ALTER TABLE board DROP COLUMN species_guess;
ALTER TABLE board DROP COLUMN left_stack;
ALTER TABLE board DROP COLUMN layer;
ALTER TABLE stack DROP COLUMN region;
ALTER TABLE stack DROP COLUMN season;
ALTER TABLE stack DROP COLUMN zone;
DROP TABLE move;
DROP TABLE climate;
