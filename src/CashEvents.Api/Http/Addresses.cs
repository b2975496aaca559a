using System.Text.RegularExpressions;

namespace CashEvents.Api.Http;

/// <summary>How what a sentence of the domain tells its reader to do is asked for over HTTP.</summary>
public static partial class Addresses
{
    private static readonly Dictionary<Act, string> _of = new()
    {
        [Act.DescribeHousehold] = "PUT /api/household",
        [Act.ChangeCompartment] = "PATCH /api/compartments/{id}",
        [Act.ListCompartments] = "GET /api/compartments",
        [Act.ChangeWallet] = "PATCH /api/wallets/{id}",
        [Act.ListWallets] = "GET /api/wallets",
        [Act.IssueKey] = "POST /api/keys",
        [Act.RevokeKey] = "DELETE /api/keys?name={id}",
        [Act.SetPlace] = "PUT /api/places/{id}",
        [Act.RemovePlace] = "DELETE /api/places/{id}",
        [Act.TellCustody] = "GET /api/custody",
        [Act.OpenHandover] = "POST /api/handovers",
        [Act.ReturnHandover] = "POST /api/handovers/{id}/return",
        [Act.SetCautionLimits] = "PUT /api/caution-limits",
        [Act.SetSavingPlan] = "PUT /api/saving-plans/{id}",
        [Act.SetFundTerms] = "PUT /api/sinking-funds/{id}",
        [Act.ListSinkingFunds] = "GET /api/sinking-funds",
        [Act.ListGoals] = "GET /api/goals",
        [Act.SetGoal] = "POST /api/goals",
        [Act.ChangeGoal] = "PATCH /api/goals/{id}",
        [Act.Count] = "POST /api/counts",
        [Act.ExplainCount] = "GET /api/counts/{id}/explanations",
        [Act.OpenCountRound] = "POST /api/count-rounds",
        [Act.CloseCountRound] = "POST /api/count-rounds/{id}/close",
        [Act.SetIncomeSource] = "PUT /api/income-sources/{id}",
        [Act.ListIncomeSources] = "GET /api/income-sources",
        [Act.ListStandingPayments] = "GET /api/standing-payments",
        [Act.WishNotes] = "PUT /api/compartments/{id}/notes",
        [Act.SetFillRule] = "PUT /api/compartments/{id}/fill-rule",
        [Act.ListFillRules] = "GET /api/fill-rules",
        [Act.StartAutomaticFills] = "PUT /api/automatic-fills",
        [Act.StopAutomaticFills] = "DELETE /api/automatic-fills",
        [Act.FillPayday] = "POST /api/fill-runs",
        [Act.Draw] = "POST /api/draw-slips",
        [Act.Fill] = "POST /api/fills",
        [Act.Amend] = "POST /api/lines/{id}/amendment",
    };

    /// <summary>The method and address of an act, with <c>{id}</c> where something has to be named.</summary>
    public static string Of(Act act) => _of[act];

    /// <summary>The sentence with each mark of an act replaced by its method and address.</summary>
    public static string Say(string sentence)
    {
        ArgumentNullException.ThrowIfNull(sentence);
        return sentence.Contains(Acts.Begins, StringComparison.Ordinal) ? Mark().Replace(sentence, Say) : sentence;
    }

    // A sentence may repeat what was sent, and anything can be sent.
    private static string Say(Match mark)
    {
        if (!Enum.TryParse<Act>(mark.Groups["act"].Value, out var act) || !_of.TryGetValue(act, out var address))
        {
            return mark.Value;
        }

        return mark.Groups["which"] is { Success: true } which
            ? address.Replace("{id}", Uri.EscapeDataString(which.Value), StringComparison.Ordinal)
            : address;
    }

    [GeneratedRegex("\u0091(?<act>[A-Za-z]+)(?: (?<which>[^\u0092]*))?\u0092", RegexOptions.ExplicitCapture)]
    private static partial Regex Mark();
}
