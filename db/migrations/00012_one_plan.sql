-- A board is one plan's at a time: of layouts that are still to be cut and not
-- struck, each board has at most one. The program looks before it stores one,
-- with the board's lot held; this keeps what it may have missed out.

-- +goose Up
-- Books in which two plans mean to cut one board, as sheets could bring them in,
-- keep the layout that came first, and none of a struck plan. The others are set
-- aside with a line of history, as their keeper would have had to.
WITH twice AS (
  SELECT y.id FROM (
    SELECT l.id, n.struck_at IS NOT NULL AS stale,
      row_number() OVER (PARTITION BY l.board_id ORDER BY n.struck_at IS NOT NULL, l.received_at, l.id) AS place
    FROM layout l JOIN plan n ON n.id = l.plan_id WHERE l.state = 'planned' AND l.struck_at IS NULL) y
  WHERE y.stale OR y.place > 1
), told AS (
  INSERT INTO history (id, entity, entity_id, action, why, changes, keeper_id, received_at)
  SELECT gen_random_uuid(), 'layout', l.id, 'corrected', 'another plan means to cut its board, or its own was struck; a board is one plan''s at a time',
    '[{"field": "state", "old": "planned", "new": "set_aside"}]', l.keeper_id, now()
  FROM layout l JOIN twice t ON t.id = l.id
)
UPDATE layout l SET state = 'set_aside', version = l.version + 1 FROM twice t WHERE t.id = l.id;

CREATE UNIQUE INDEX layout_board_planned_once ON layout (board_id) WHERE state = 'planned' AND struck_at IS NULL;

-- +goose Down
DROP INDEX layout_board_planned_once;
