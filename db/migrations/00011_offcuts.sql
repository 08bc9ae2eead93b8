-- What a kept offcut counts for, and boards whose ends are dirtier or cleaner
-- than the house's.

-- +goose Up
-- The share, in percent, of what the same volume of finished parts counts.
-- Plans made before counted nothing for what they left.
ALTER TABLE plan ADD COLUMN offcut_share double precision NOT NULL DEFAULT 0;
ALTER TABLE plan ADD CONSTRAINT plan_offcut_share_in_percent CHECK (offcut_share BETWEEN 0 AND 100);

-- How much of an end comes off before all else; empty means the plan's trim.
ALTER TABLE board ADD COLUMN left_trim_nm bigint;
ALTER TABLE board ADD COLUMN right_trim_nm bigint;
ALTER TABLE board ADD CONSTRAINT board_trims_leave_wood CHECK (coalesce(left_trim_nm, 0) >= 0 AND coalesce(right_trim_nm, 0) >= 0
  AND coalesce(left_trim_nm, 0) + coalesce(right_trim_nm, 0) < length_nm);

-- +goose Down
ALTER TABLE board DROP COLUMN left_trim_nm, DROP COLUMN right_trim_nm;
ALTER TABLE plan DROP COLUMN offcut_share;
