package main

import (
	"context"
	"io"
	"slices"
	"strings"
	"time"

	"elevage/internal/blend"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/ledger"
	"elevage/internal/serve"
)

type blendCommand struct {
	data
	Args []string `arg:"" optional:"" name:"key=value" help:"What it is to be: ph_most=3.6 abv_pct_aim=13 least_l=40 use=c1,c2 into=d1 whole=yes share_pct_of=variety:Merlot share_pct_least=85, and so on for ta_g_l, sugar_g_l, va_g_l, malic_g_l, total_so2_mg_l, free_so2_mg_l."`
	Pour []string `help:"Volumes of your own instead, such as \"c1=12 c2=8\"; once for each blend to set beside another." sep:"none" placeholder:"RECIPE"`
	JSON bool     `help:"Answer in JSON."`
}

func (c *blendCommand) Run(d *doors) error {
	given := map[string][]string{}
	for _, arg := range c.Args {
		key, value, ok := strings.Cut(arg, "=")
		if !ok || !slices.Contains(blend.Keys(), key) {
			return fault.BadFields("blend", fault.Field{Name: key, Given: arg, Allowed: "key=value with one of the keys " + strings.Join(blend.Keys(), ", ")})
		}
		given[key] = append(given[key], value)
	}
	order, err := blend.ReadOrder(given)
	if err != nil {
		return err
	}
	return c.onDesk(func(ctx context.Context, _ ledger.Ledger, on *desk.Desk) error {
		v, err := on.View(ctx, time.Now())
		if err != nil {
			return err
		}
		out, err := serve.Blends(v, order, c.Pour)
		if err != nil {
			return err
		}
		if c.JSON {
			return writeJSON(d.out, out)
		}
		_, err = io.WriteString(d.out, out.Text())
		return err
	})
}
