using System.Text.Json;

namespace CashEvents.Api.Hosting;

/// <summary>
/// Loads the made-up household of demo-seed: the same bodies that one would send over HTTP, through the same commands.
/// </summary>
internal sealed class DemoSeed(BookWriter writer, IServiceProvider services)
{
    /// <summary>Loads the whole seed or nothing of it.</summary>
    /// <exception cref="StartException">The seed is missing or the book refuses it.</exception>
    public async Task LoadAsync(string household, string by)
    {
        var folder = Path.Combine(AppContext.BaseDirectory, "demo-seed");
        var sent = Read<HouseholdRequest>(folder, "household.json");
        var movements = Directory.GetFiles(folder, "movements-*.json").Order(StringComparer.Ordinal)
            .SelectMany(month => Read<BatchRequest>(folder, Path.GetFileName(month)).Movements!)
            .ToList();
        movements.ForEach(movement => Validation.Check(services, movement));
        var plans = Read<List<PlanRequest>>(folder, "plan.json");
        plans.ForEach(plan => Validation.Check(services, plan));
        var sources = Read<Dictionary<string, IncomeSourceRequest>>(folder, "income-sources.json");
        var payments = Read<Dictionary<string, StandingPaymentRequest>>(folder, "standing-payments.json");
        var rules = Read<Dictionary<string, FillRuleRequest>>(folder, "fill-rules.json");
        var goals = Read<List<GoalRequest>>(folder, "goals.json");
        var savingPlans = Read<Dictionary<string, SavingPlanRequest>>(folder, "saving-plans.json");
        foreach (var definition in sources.Values.Concat<object>(payments.Values).Concat(rules.Values).Concat(goals)
            .Concat(savingPlans.Values))
        {
            Validation.Check(services, definition);
        }

        var result = await writer.WriteAsync(new WriteRequest(household, by,
        [
            new EntryRequest(sent.ToCommand()),
            .. Read<IReadOnlyList<WalletRequest>>(folder, "wallets.json")
                .Select(w => new EntryRequest(new OpenWallet(w.Label!))),
            .. Read<IReadOnlyList<CompartmentRequest>>(folder, "compartments.json")
                .Select(c => new EntryRequest(new OpenCompartment(c.Label!, c.Wallet!, c.Purpose!.Value))),
            .. movements.Select(m => m.ToEntry()),
            // After the movements: settlements among them name their counts by line.
            .. plans.Select(p => new EntryRequest(p.ToCommand())),
            .. sources.Select(s => new EntryRequest(s.Value.ToCommand(s.Key))),
            .. payments.Select(p => new EntryRequest(p.Value.ToCommand(p.Key))),
            .. rules.Select(r => new EntryRequest(r.Value.ToCommand(r.Key))),
            .. goals.Select(g => new EntryRequest(new AddGoalFromTodayOn(g))),
            .. savingPlans.Select(s => new EntryRequest(s.Value.ToCommand(s.Key))),
        ])).ConfigureAwait(false);
        if (result.Outcomes.FirstOrDefault(
            o => o.Refusal is { Code: not "not-written-with-others" })?.Refusal is { } refusal)
        {
            throw new StartException($"The demo household could not be loaded: {Addresses.Say(refusal.Detail)}");
        }
    }

    private static T Read<T>(string folder, string file)
    {
        var path = Path.Combine(folder, file);
        return File.Exists(path)
            ? JsonSerializer.Deserialize<T>(File.ReadAllText(path), ApiJson.Options)!
            : throw new StartException($"The demo household is not there: {path} is missing.");
    }

    /// <summary>
    /// A goal of the seed whose bill comes again: the seed may be loaded years after it was written, and its first bill
    /// is then the next one.
    /// </summary>
    private sealed record AddGoalFromTodayOn(GoalRequest Goal) : ICommand
    {
        public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
        {
            var (first, every) = (Goal.Due!.Value, Period.Of(Goal.Every!));
            var next = Enumerable.Range(0, int.MaxValue).Select(times => every.After(first, times))
                .First(due => due >= today);
            return (Goal with { Due = next }).ToCommand().Decide(book, today);
        }
    }
}
